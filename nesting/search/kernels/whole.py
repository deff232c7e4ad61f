# mypy: disable-error-code="no-untyped-def, no-untyped-call"
"""A kernel that Python calls is compiled whole: with all kernels that it is made of, once.

By itself numba makes machine code of each of them, and optimises what lies deep again in every
caller's caller. Here a kernel that another one calls, a *part*, is only translated for the
compiler; it is optimised within what it is part of.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import config
from numba.core import types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import PassManager, register_pass
from numba.core.registry import CPUDispatcher
from numba.core.typed_passes import NativeLowering

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


class _PartCompiler(CompilerBase):  # type: ignore[misc]
    def define_pipelines(self):
        state = self.state
        state.library = _PartCode(state.targetctx.codegen(), state.func_id.func_qualname)
        passes = PassManager("part")
        for one, text in DefaultPassBuilder.define_nopython_pipeline(state).passes:
            passes.add_pass(_PartLowering if one is NativeLowering else one, text)
        passes.finalize()
        return [passes]


class _WholeCompiler(CompilerBase):  # type: ignore[misc]
    def define_pipelines(self):
        state = self.state
        state.library = _WholeCode(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        return [DefaultPassBuilder.define_nopython_pipeline(state)]


class _Part(CPUDispatcher):  # type: ignore[misc]
    """A kernel as others see it; there is nothing that Python could call."""

    def add_overload(self, cres):
        self.overloads[tuple(cres.signature.args)] = cres


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
