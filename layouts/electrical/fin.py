"""A uniformly heated fin: a length of metal with a current in it, both ends held.

It makes q watts a metre, conducts heat to its ends and gives some off to still air on its outer
face: theta = q/(h w) (1 - 1/cosh(m L/2)), m^2 = h w/(k A) in the middle (a straight fin of constant
section with even heating, ends held: the fin equation of Incropera and DeWitt, chapter 3, with
q added; title from memory).
"""

from __future__ import annotations

from math import cosh, sqrt

from layouts.ratings.given import above_zero, not_negative

__all__ = ["fin_rise_k"]


def fin_rise_k(
    *, w_m: float, length_m: float, width_m: float, heat_w_m_k: float, film_w_m2k: float
) -> float:
    """The middle of an evenly heated fin over its two ends [K].

    ``w_m``: heat a metre; ``heat_w_m_k``: k A; ``film_w_m2k``: to air, over ``width_m``.
    """
    not_negative(w_m, "w_m")
    film = above_zero(film_w_m2k, "film_w_m2k") * above_zero(width_m, "width_m")
    m = sqrt(film / above_zero(heat_w_m_k, "heat_w_m_k"))
    # 1 - 1/cosh x = tanh(x) tanh(x/2) would keep more digits; not needed even for strips of a
    # millimetre
    return w_m / film * (1.0 - 1.0 / cosh(m * above_zero(length_m, "length_m") / 2.0))
