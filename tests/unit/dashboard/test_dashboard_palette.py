"""The colours: contrast by WCAG 2.2, and what is left of them for colour-blind eyes."""

from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray

from dashboard.look import ALARM, GROUND, INK, PAPER, QUIET, SOIL, WATER

Colour = NDArray[np.float64]

# Machado, Oliveira & Fernandes (2009), "A physiologically-based model for simulation of color vision
# deficiency", IEEE TVCG 15(6), 1291-1298: matrices at full severity, on linear RGB.
BLIND = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}  # fmt: skip
# IEC 61966-2-1:1999: linear sRGB to XYZ under D65
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
WHITE = np.array([0.9505, 1.0, 1.0890])


def linear(colour: str) -> Colour:
    """Linear RGB of #rrggbb, as IEC 61966-2-1 has it."""
    parts = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio": (L1 + 0.05) / (L2 + 0.05)."""
    light, dark = sorted((float(TO_XYZ[1] @ linear(c)) for c in (one, other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(rgb: Colour) -> Colour:
    """CIE 1976 L*a*b* (CIE 15:2004)."""
    ratio = TO_XYZ @ rgb / WHITE
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def apart(one: str, other: str, eyes: str) -> float:
    """The distance of two colours to an eye, CIE 1976 ΔE."""
    matrix = np.array(BLIND[eyes]) if eyes in BLIND else np.eye(3)
    seen = [lab(np.clip(matrix @ linear(c), 0, 1)) for c in (one, other)]
    return float(np.linalg.norm(seen[0] - seen[1]))


def test_the_formulas_are_the_published_ones() -> None:
    """Black on white is 21:1 (WCAG 2.2); white is L* 100, and mid-grey #777777 on white 4.48:1."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)
    assert lab(linear("#ffffff"))[0] == pytest.approx(100.0)
    for matrix in BLIND.values():  # grey stays grey: a slip of a digit would show
        assert np.sum(matrix, axis=1) == pytest.approx([1, 1, 1], abs=1e-5)


@pytest.mark.parametrize("text", [INK, QUIET, WATER, ALARM])
@pytest.mark.parametrize("under", [GROUND, PAPER])
def test_text_can_be_read(text: str, under: str) -> None:
    """WCAG 2.2, 1.4.3 (AA): 4.5:1 for text."""
    assert contrast(text, under) >= 4.5


@pytest.mark.parametrize("mark", [INK, QUIET, WATER, ALARM, SOIL])
@pytest.mark.parametrize("under", [GROUND, PAPER])
def test_what_is_drawn_can_be_seen(mark: str, under: str) -> None:
    """WCAG 2.2, 1.4.11 (AA): 3:1 for graphics that carry meaning, dry rows too."""
    assert contrast(mark, under) >= 3.0


@pytest.mark.parametrize("eyes", ["ordinary", *BLIND])
@pytest.mark.parametrize(("one", "other"), list(combinations([WATER, SOIL, ALARM], 2)))
def test_the_patchs_colours_are_told_apart_by_colour_blind_eyes(one: str, other: str, eyes: str) -> None:
    """Wet, dry and alarm stay at ΔE 20 or more from each other (2.3 is just noticed: Mahy et al. 1994, from memory)."""
    assert apart(one, other, eyes) >= 20


def test_two_colours_that_collapse_are_found() -> None:
    """The check can fail: a red and a green of one lightness are nearly one to deutan eyes."""
    assert apart("#a06a3a", "#7a7a3a", "ordinary") > 20
    assert apart("#a06a3a", "#7a7a3a", "deutan") < 10
