"""Every comparison with an outside figure as a test, and how many of which kind there must be."""

import dataclasses

import pytest

from tests.validation.row import Basis, Kind, Row
from tests.validation.rows import rows


@pytest.mark.parametrize("row", rows(), ids=lambda row: row.quantity)
def test_our_figure_falls_within_the_accepted_interval(row: Row):
    assert row.low <= row.ours <= row.high, row.source


def test_there_are_enough_comparisons_of_each_kind():
    kinds = [row.kind for row in rows()]
    assert kinds.count(Kind.MEASURED) >= 60
    assert kinds.count(Kind.HANDBOOK) >= 20
    assert Kind.ARITHMETIC in kinds


def test_a_good_part_of_the_measured_comparisons_is_independent_of_the_fit():
    measured = [row for row in rows() if row.kind is Kind.MEASURED]
    assert sum(row.basis is Basis.INDEPENDENT for row in measured) >= 40


def test_every_comparison_names_its_source_and_can_fail():
    assert all(row.source for row in rows())
    beyond = [dataclasses.replace(row, ours=row.high + 1 + abs(row.high)) for row in rows()]
    assert not any(row.passes for row in beyond)
