"""Contrast and separation of the window's colours, computed here from the published formulas.

* Contrast: Web Content Accessibility Guidelines (WCAG) 2.2, "relative luminance", "contrast ratio", 1.4.11.
* Colour difference: CIEDE2000, G. Sharma, W. Wu, E. Dalal, "The CIEDE2000 color-difference formula:
  implementation notes, supplementary test data", Color Research and Application 30 (2005) 21-30.
* Colour-vision deficiency: G. Machado, M. Oliveira, L. Fernandes, "A physiologically-based model for simulation
  of color vision deficiency", IEEE TVCG 15 (2009) 1291-1298, severity 1.0, applied to linear sRGB.
"""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from viewer.layers.layers import ROLE_NAMES
from viewer.shown.cause_words import CAUSE_GROUPS
from viewer.shown.pictures.colours import UNKNOWN, cause_rgb, role_rgba, scale_rgba, ui

F64 = npt.NDArray[np.float64]
MIN_CONTRAST = 3.0  # WCAG 2.2, 1.4.11
MIN_TEXT_CONTRAST = 4.5  # WCAG 2.2, 1.4.3
MIN_DIFFERENCE = 12.0  # CIEDE2000; about 1 is just noticeable side by side, our own choice for small patches
THEMES = (False, True)

# Machado et al. 2009, severity 1.0; values from memory, see test_matrices_*
DEFICIENCY = {
    "none": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}
SRGB_TO_XYZ = np.array(  # IEC 61966-2-1, D65
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)


def linear(rgb: npt.ArrayLike) -> F64:
    share = np.asarray(rgb, np.float64) / 255.0
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def contrast(one: npt.ArrayLike, other: npt.ArrayLike) -> float:
    light = sorted(float(linear(rgb) @ [0.2126, 0.7152, 0.0722]) for rgb in (one, other))
    return (light[1] + 0.05) / (light[0] + 0.05)


def lab(rgb: npt.ArrayLike, deficiency: str = "none") -> F64:
    seen = np.clip(linear(rgb) @ DEFICIENCY[deficiency].T, 0.0, 1.0)
    t = (seen @ SRGB_TO_XYZ.T) / SRGB_TO_XYZ.sum(axis=1)
    f = np.where(t > 216 / 24389, np.cbrt(t), (24389 / 27 * t + 16) / 116)
    return np.stack(
        [116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1
    )


def ciede2000(one: npt.ArrayLike, other: npt.ArrayLike) -> float:
    (l1, a1, b1), (l2, a2, b2) = np.asarray(one, np.float64), np.asarray(other, np.float64)
    mean_c = 0.5 * (np.hypot(a1, b1) + np.hypot(a2, b2))
    g = 0.5 * (1 - np.sqrt(mean_c**7 / (mean_c**7 + 25.0**7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = np.degrees(np.arctan2(b1, a1)) % 360, np.degrees(np.arctan2(b2, a2)) % 360
    dh = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    h = h1 + h2 if c1 * c2 == 0 else 0.5 * (h1 + h2) if abs(h1 - h2) <= 180 else (0.5 * (h1 + h2) + 180) % 360
    level, c = 0.5 * (l1 + l2), 0.5 * (c1 + c2)
    big_dh = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(dh / 2))
    t = 1 - 0.17 * np.cos(np.radians(h - 30)) + 0.24 * np.cos(np.radians(2 * h))
    t += 0.32 * np.cos(np.radians(3 * h + 6)) - 0.20 * np.cos(np.radians(4 * h - 63))
    turn = -np.sin(np.radians(60 * np.exp(-(((h - 275) / 25) ** 2)))) * 2 * np.sqrt(c**7 / (c**7 + 25.0**7))
    dl = (l2 - l1) / (1 + 0.015 * (level - 50) ** 2 / np.sqrt(20 + (level - 50) ** 2))
    dc, dk = (c2 - c1) / (1 + 0.045 * c), big_dh / (1 + 0.015 * c * t)
    return float(np.sqrt(dl * dl + dc * dc + dk * dk + turn * dc * dk))


@pytest.mark.parametrize(
    ("one", "other", "difference"),
    [  # from the table of Sharma, Wu and Dalal (2005), values from memory
        ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
        ((50, 2.5, 0), (73, 25, -18), 27.1492),
        ((50, 2.5, 0), (61, -5, 29), 22.8977),
        ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_our_ciede2000_gives_the_published_differences(
    one: tuple[float, ...], other: tuple[float, ...], difference: float
) -> None:
    assert ciede2000(one, other) == pytest.approx(difference, abs=6e-5)
    assert ciede2000(other, one) == pytest.approx(difference, abs=6e-5)


def test_our_contrast_gives_known_ratios() -> None:
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast((119, 119, 119), (255, 255, 255)) == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("name", ["protanopia", "deuteranopia", "tritanopia"])
def test_matrices_keep_greys_and_lose_one_dimension(name: str) -> None:
    matrix = DEFICIENCY[name]
    assert matrix.sum(axis=1) == pytest.approx(1.0, abs=2e-6)
    stretch = np.linalg.svd(matrix, compute_uv=False)
    assert stretch[2] < 0.2 * stretch[0]  # dichromats see (nearly) two dimensions


def test_matrices_merge_what_dichromats_confuse() -> None:
    red, green = (190, 60, 60), (110, 110, 50)
    blue, teal = (70, 110, 190), (50, 125, 130)
    for name in ("protanopia", "deuteranopia"):
        assert ciede2000(lab(red, name), lab(green, name)) < 0.5 * ciede2000(lab(red), lab(green))
        assert ciede2000(lab(red, name), lab(blue, name)) > 20
    assert ciede2000(lab(blue, "tritanopia"), lab(teal, "tritanopia")) < 0.7 * ciede2000(lab(blue), lab(teal))
    dark_red = lab((255, 0, 0), "protanopia")[0]
    assert dark_red < lab((255, 0, 0))[0] - 10.0  # red looks dark without the long-wave cones


@pytest.mark.parametrize("dark", THEMES)
def test_every_role_stands_out_from_the_plate(dark: bool) -> None:
    plate = ui(dark)["plate"]
    ratios = {name: contrast(rgba[:3], plate) for name, rgba in zip(ROLE_NAMES, role_rgba(dark), strict=True)}
    assert min(ratios.values()) >= MIN_CONTRAST, ratios


@pytest.mark.parametrize("deficiency", DEFICIENCY)
@pytest.mark.parametrize("dark", THEMES)
def test_any_two_roles_can_be_told_apart(dark: bool, deficiency: str) -> None:
    seen = lab(role_rgba(dark)[:, :3], deficiency)
    apart = {
        (ROLE_NAMES[i], ROLE_NAMES[j]): ciede2000(seen[i], seen[j])
        for i, j in combinations(range(len(ROLE_NAMES)), 2)
    }
    closest = min(apart, key=lambda pair: apart[pair])
    assert apart[closest] >= MIN_DIFFERENCE, (closest, apart[closest])


@pytest.mark.parametrize("deficiency", DEFICIENCY)
@pytest.mark.parametrize("dark", THEMES)
def test_any_two_causes_of_the_time_can_be_told_apart(dark: bool, deficiency: str) -> None:
    colours = cause_rgb(dark)
    assert tuple(colours) == tuple(CAUSE_GROUPS)
    assert min(contrast(rgb, ui(dark)["plate"]) for rgb in colours.values()) >= MIN_CONTRAST
    seen = {name: lab(rgb, deficiency) for name, rgb in colours.items()}
    apart = {pair: ciede2000(seen[pair[0]], seen[pair[1]]) for pair in combinations(seen, 2)}
    closest = min(apart, key=lambda pair: apart[pair])
    assert apart[closest] >= MIN_DIFFERENCE, (closest, apart[closest])


@pytest.mark.parametrize("dark", THEMES)
def test_the_scale_stands_out_from_the_plate_and_knows_the_unknown(dark: bool) -> None:
    scale = scale_rgba(dark)
    assert scale.shape == (256, 4)
    assert scale.dtype == np.uint8
    assert min(contrast(rgb, ui(dark)["plate"]) for rgb in scale[:, :3]) >= MIN_CONTRAST
    assert tuple(scale[UNKNOWN]) == tuple(role_rgba(dark)[ROLE_NAMES.index("unlabelled")])


@pytest.mark.parametrize("deficiency", DEFICIENCY)
@pytest.mark.parametrize("dark", THEMES)
def test_the_scale_is_even_and_goes_one_way(dark: bool, deficiency: str) -> None:
    seen = lab(scale_rgba(dark)[:UNKNOWN, :3], deficiency)
    steps = np.diff(seen[::6, 0])
    assert (steps > 0).all() if dark else (steps < 0).all()  # more is lighter on dark, darker on light
    quarters = [ciede2000(seen[a], seen[b]) for a, b in ((0, 63), (63, 127), (127, 190), (190, 254))]
    assert min(quarters) >= 6.0  # no quarter of the values looks all the same
    if deficiency == "none":
        assert max(quarters) / min(quarters) < 2.0


@pytest.mark.parametrize("dark", THEMES)
def test_the_scale_is_the_published_map(dark: bool) -> None:
    import pyqtgraph

    table = (
        Path(pyqtgraph.__file__).parent / "colors/maps/inferno.csv"
    )  # the library's copy of the published map
    published = np.loadtxt(table, delimiter=",", comments=(";", "#")) * 255.0
    for rgb in scale_rgba(dark)[:UNKNOWN:6, :3].astype(float):
        assert np.abs(published[:, None, :] - rgb).max(axis=2).min() <= 2.5
    assert contrast(published[0], published[-1]) > 10


@pytest.mark.parametrize("dark", THEMES)
def test_texts_and_marks_can_be_read(dark: bool) -> None:
    colours = ui(dark)
    for ground in ("plate", "panel", "window"):
        for name in ("text", "faint", "accent", "warn", "stop", "good"):
            assert contrast(colours[name], colours[ground]) >= MIN_TEXT_CONTRAST, (name, ground)
    for name in ("edge", "travel", "retract", "prime", "selection"):
        assert contrast(colours[name], colours["plate"]) >= MIN_CONTRAST, name
    assert contrast(colours["selection"], colours["halo"]) >= 15
    assert contrast(colours["on accent"], colours["accent"]) >= MIN_TEXT_CONTRAST
    for name in ("grid", "shadow", "beyond", "later"):  # they step back, but are seen
        assert 1.15 <= contrast(colours[name], colours["plate"]) < MIN_CONTRAST, name


def test_light_and_dark_have_the_same_names() -> None:
    assert set(ui(False)) == set(ui(True))
    assert role_rgba(False).shape == role_rgba(True).shape == (len(ROLE_NAMES), 4)
    assert (role_rgba(True)[:, 3] == 255).all()
