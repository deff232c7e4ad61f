"""Pieces made ready to cut: in their variant, upright on the grain, the right hand up."""

from __future__ import annotations

from dataclasses import replace

from nesting.job.job import Cut
from nesting.material.material import Goods, Nap
from nesting.pattern.piece import Hand, Piece
from nesting.pattern.variants.fold import folded_back
from nesting.pattern.variants.symmetry import is_mirror_symmetric
from nesting.pattern.variants.variant import (
    marks_for,
    mirrored,
    rough_cut,
    stretched,
    trimmed,
    upright,
)

__all__ = ["lies_on_fold", "ready", "serves_both_plies", "variant_words", "with_marks"]

_STRAIGHT = 1e-6
"""A fold further off the grain than this (mm) does not lie along the fold of the cloth."""


def ready(piece: Piece, cut: Cut, material: Goods, *, hand: Hand = Hand.RIGHT) -> Piece:
    """Return the piece as it is cut: grain along +x, mirrored if the side that is up asks for it.

    A left hand is the mirror image of the right one, and goods laid with the wrong side
    up mirror both. Its marks are all still there.
    """
    if cut.folded_back:
        piece = folded_back(piece)[0]
    if cut.trimmed:
        piece = trimmed(piece, gap=cut.gap)[0]
    if cut.rough_margin:
        piece = rough_cut(piece, cut.rough_margin)
    piece = upright(replace(piece, grain=piece.grain + cut.grain))
    if material.shrinkage.cut_larger:
        shrinkage = material.shrinkage
        piece = stretched(piece, along=shrinkage.along, across=shrinkage.across)
    if (hand is Hand.LEFT) != material.wrong_side_up:
        piece = mirrored(piece)
    return piece


def with_marks(
    piece: Piece, material: str, *, copies: tuple[int, ...], hands: tuple[Hand, ...]
) -> Piece:
    """Return the piece with the marks that any of these copies and hands carries."""
    found = [
        marks_for(piece, material=material, copy=copy, hand=hand)
        for copy in copies
        for hand in hands
    ]
    kept = tuple(mark for mark in piece.marks if any(mark in marks for marks in found))
    return piece if kept == piece.marks else replace(piece, marks=kept)


def variant_words(cut: Cut) -> str:
    """Say how the cut differs from the piece as drawn: ``"trimmed, folded back"``."""
    words = ["reversed"] if cut.reversed else []
    if cut.folded_back:
        words.append("folded back")
    if cut.trimmed:
        words.append("trimmed")
    if cut.rough_margin:
        words.append("rough cut")
    if cut.grain:
        words.append({90.0: "across", 45.0: "bias"}.get(cut.grain, f"grain {cut.grain:g}°"))
    return ", ".join(words)


def lies_on_fold(piece: Piece) -> bool:
    """Whether a ready piece has a fold that runs along the grain."""
    return piece.fold is not None and abs(piece.fold[0][1] - piece.fold[1][1]) <= _STRAIGHT


def serves_both_plies(piece: Piece, cut: Cut, material: Goods) -> bool:
    """Whether one cut through both plies gives two of a ready piece, not one and its mirror."""
    nap = cut.nap or material.nap
    turns = (0.0,) if nap is Nap.ONE_WAY else (0.0, 180.0)
    return material.faces_alike or is_mirror_symmetric(piece, turns=turns, marks=True)
