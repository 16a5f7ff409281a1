"""Strengths that the example brackets share."""

from __future__ import annotations

import numpy as np

# PETG at 40 C, safety 4: strength 44 in its layers and 25 MPa across, 0.71 left by warmth
INSIDE_MPA, ACROSS_MPA, MODULUS_MPA = 44.0 * 0.706 / 4, 25.0 * 0.706 / 4, 2000.0
M4_INSERT_N, M5_INSERT_N = 578.0 * 0.706 / 4, 765.0 * 0.706 / 4
WAYS = np.eye(3)
