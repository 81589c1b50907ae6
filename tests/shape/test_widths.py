"""Which width of the beads is believed."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from viewer.layers.spacing import NO_SPACING, Spacing
from viewer.shape.widths import BeadWidths, judge_widths
from viewer.units import filament_area_mm2

THIN, THICK_FILAMENT = 1.75, 2.85


def spaced(distance: float, made_for: float = THIN, thickness: float = 0.2, share: float = 0.8) -> Spacing:
    return Spacing(distance, share, 5000, 24, thickness, 1.0 / filament_area_mm2(made_for))


def judged(
    computed: float | None, spacing: Spacing, thickness: float = 0.2, nozzle: float = 0.4
) -> BeadWidths:
    return judge_widths(computed, thickness, nozzle, THIN, lambda: spacing)


def test_usual_widths_are_believed_without_a_look_at_the_spacing() -> None:
    def never() -> Spacing:
        raise AssertionError("measured")

    assert judge_widths(0.45, 0.2, 0.4, THIN, never) == BeadWidths(0.45, 0.45, 1.0, True)
    assert judge_widths(None, 0.2, 0.4, THIN, never).is_known


def test_another_nozzle_agrees_with_the_spacing() -> None:
    found = judged(0.885, spaced(0.8, thickness=0.4), 0.4)
    assert (found.is_known, found.area_scale, found.usual_mm) == (True, 1.0, 0.885)
    assert judged(0.2, spaced(0.18, thickness=0.1), 0.1).is_known
    assert judged(1.5, spaced(1.4), 0.2).is_known


def test_other_filament_scales_all_areas() -> None:
    found = judged(0.165, spaced(0.4, THICK_FILAMENT, 0.1), 0.1)
    assert found.is_known and found.is_from_spacing
    assert found.area_scale == pytest.approx((THICK_FILAMENT / THIN) ** 2)
    assert found.drawn_diameter_mm(THIN) == pytest.approx(THICK_FILAMENT)
    assert found.usual_mm == pytest.approx(0.4 + 0.1 * (1.0 - math.pi / 4))


@pytest.mark.parametrize("made_for", [0.5, 6.0])
def test_any_flow_scales_where_the_spacing_suits_the_nozzle(made_for: float) -> None:
    found = judged(6.7 if made_for < THIN else 0.05, spaced(0.5, made_for))
    assert found.drawn_diameter_mm(THIN) == pytest.approx(made_for)


def test_areas_are_not_scaled_from_nothing() -> None:
    found = judged(0.001, replace(spaced(0.66), fed_mm_per_mm3=0.0))
    assert found.is_known and found.area_scale == 1.0
    assert found.usual_mm == pytest.approx(0.703, abs=0.001)  # all layers are odd, and drawn at this


def test_neither_is_believed() -> None:
    assert not judged(0.04, NO_SPACING).is_known
    assert not judged(0.04, spaced(1.2, 20.0)).is_known  # sparse infill alone
    assert not judged(1.2, NO_SPACING).is_known
    assert not judged(0.43, spaced(1.2, 4.5, 0.8), 0.8).is_known  # threads in thick layers
    assert not judged(0.04, spaced(0.4, THICK_FILAMENT, share=0.1)).is_known


def test_sparse_infill_does_not_scale_usual_widths() -> None:
    assert judged(0.39, spaced(0.9, 1.75 * math.sqrt(2.5))).area_scale == 1.0
    assert judged(0.39, spaced(0.6, 1.75 * math.sqrt(1.7))).area_scale == 1.0


@pytest.mark.parametrize("edge", [0.32, 0.8, 0.4, 0.64])
def test_there_is_no_cliff(edge: float) -> None:
    for spacing in (NO_SPACING, spaced(0.35, 1.75 * math.sqrt(1.33))):
        for computed in (edge - 0.003, edge + 0.003):
            assert judged(computed, spacing).is_known
            assert judged(computed, spacing).drawn_diameter_mm(THIN) == THIN
