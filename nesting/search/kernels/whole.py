# mypy: disable-error-code="no-untyped-def, no-untyped-call"
"""A kernel that Python calls is compiled whole: with all kernels that it is made of, once.

By itself numba makes machine code of each of them, and optimises what lies deep again in every
caller's caller. Here a kernel that another one calls, a *part*, is only translated for the
compiler; it is optimised within what it is part of.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

from numba import config
from numba.core import types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase
from numba.core.compiler_machinery import PassManager, register_pass
from numba.core.registry import CPUDispatcher
from numba.core.typed_passes import (
    AnnotateTypes,
    IRLegalization,
    NativeLowering,
    NoPythonBackend,
    NopythonTypeInference,
    PreLowerStripPhis,
)
from numba.core.types.misc import unliteral
from numba.core.untyped_passes import (
    FixupArgs,
    GenericRewrites,
    IRProcessing,
    ReconstructSSA,
    TranslateByteCode,
)

__all__ = ["whole"]


class _PartCode(JITCodeLibrary):  # type: ignore[misc]
    """What a part was translated to."""

    def finalize(self):
        self._finalized = True


class _WholeCode(JITCodeLibrary):  # type: ignore[misc]
    """The code of a kernel and of all parts that it and they call."""

    def add_linking_library(self, library):
        super().add_linking_library(library)
        if isinstance(library, _PartCode):
            for other in library._linking_libraries:
                if other not in self._linking_libraries:
                    self.add_linking_library(other)


@register_pass(mutates_CFG=True, analysis_only=False)
class _PartLowering(NativeLowering):  # type: ignore[misc]
    """Translates a part, and says under which key those find it that call it."""

    _name = "part_lowering"

    def run_pass(self, state):
        state.flags.no_compile = True  # to machine code
        super().run_pass(state)
        made, key = state["cr"], object()
        state.targetctx.insert_user_function(key, made.fndesc, [state.library])
        state["cr"] = made._replace(cfunc=key)
        return True


class _Types:
    """numba's typing context, which remembers what types an operation has.

    By itself numba tries all kinds of addition again at every plus sign.
    """

    def __init__(self, context: Any) -> None:
        self._context = context
        self._known: dict[Any, Any] = {}

    def __getattr__(self, name: str) -> Any:
        return getattr(self._context, name)

    def resolve_function_type(self, function, types_given, named):
        if named or isinstance(function, types.Dispatcher):
            return self._context.resolve_function_type(function, types_given, named)
        key = function, types_given
        if key not in self._known:
            self._known[key] = self._context.resolve_function_type(function, types_given, named)
        return self._known[key]


@cache
def _types(context: Any, _: bool) -> _Types:
    """Return the typing context of kernels that count references, or of those that don't."""
    return _Types(context)


class _Compiler(CompilerBase):  # type: ignore[misc]
    """Those passes of numba that do something to kernels.

    They have no closures, contexts, literal loops, expressions of whole arrays.
    """

    _code: type[JITCodeLibrary]
    _lowering: type[NativeLowering] = NativeLowering

    def define_pipelines(self):
        state = self.state
        state.library = self._code(state.targetctx.codegen(), state.func_id.func_qualname)
        state.typingctx = _types(state.typingctx, state.flags.nrt)
        passes = PassManager("kernel")
        for one in (
            TranslateByteCode,
            FixupArgs,
            IRProcessing,
            GenericRewrites,
            ReconstructSSA,
            NopythonTypeInference,
            PreLowerStripPhis,
            IRLegalization,
            AnnotateTypes,
            self._lowering,
            NoPythonBackend,
        ):
            passes.add_pass(one, one.__name__)
        passes.finalize()
        return [passes]


class _PartCompiler(_Compiler):
    _code, _lowering = _PartCode, _PartLowering


class _WholeCompiler(_Compiler):
    _code = _WholeCode

    def define_pipelines(self):
        passes = super().define_pipelines()
        self.state.library.enable_object_caching()
        return passes


class _Part(CPUDispatcher):  # type: ignore[misc]
    """A kernel as others see it; there is nothing that Python could call.

    It is translated once for all numbers of a type, not again for one that is written out.
    """

    def add_overload(self, cres):
        self.overloads[tuple(cres.signature.args)] = cres

    def get_call_template(self, args, kws):
        return super().get_call_template(tuple(unliteral(one) for one in args), kws)


class _Whole(CPUDispatcher):  # type: ignore[misc]
    """A kernel as Python sees it."""

    def __init__(self, function: Any, options: dict[str, Any]) -> None:
        options = {"nopython": True, "boundscheck": None, "no_cfunc_wrapper": True} | options
        super().__init__(function, targetoptions=options, pipeline_class=_WholeCompiler)
        options = options | {"no_cpython_wrapper": True}
        self._part = _Part(function, targetoptions=options, pipeline_class=_PartCompiler)

    @property
    def _numba_type_(self):
        return types.Dispatcher(self._part)


def whole(function: Callable[..., Any], **options: Any) -> Any:
    """Return a kernel of this function, which is kept nowhere; `options` are numba's.

    Where numba is told to compile nothing it is the function.
    """
    return function if config.DISABLE_JIT else _Whole(function, options)
