"""Columns out of CSV text: comments passed over, every complaint at its line and column."""

import pytest

from quoting.propeller.columns import columns

TEXT = "# a note\na, b\n1, 2\n\n3, 4\n"


def test_notes_and_empty_lines_are_passed_over():
    table = columns(TEXT, ("a", "b"))
    assert table.values["a"].tolist() == [1, 3]
    assert table.lines == (3, 5)


def test_an_optional_column_may_be_absent():
    assert set(columns(TEXT, ("a",), ("c",)).values) == {"a"}


def test_a_complaint_about_a_row_is_moved_to_its_line():
    assert columns(TEXT, ("a",)).at_line("c_R: row 2: too wide") == "c_R: line 5: too wide"


@pytest.mark.parametrize(
    ("message", "text"),
    [
        ("line 2: column b is missing; there are a", "# x\na\n1\n"),
        ("line 3, column a: 'one' is not a number", "a,b\n1,2\none,2\n"),
        ("line 2, column b: '' is not a number", "a,b\n1\n"),
        ("line 2, column a: 'nan' is not a finite number", "a,b\nnan,1\n"),
        ("a header line and at least one row", "a,b\n"),
        ("a header line and at least one row", ""),
        ("line 1: column a is there twice", "a,a,b\n1,2,3\n"),
        ("line 3: 3 values for 2 columns; numbers take a point", "a,b\n1,2\n1,5,2\n"),
        ("line 2, column b: '' is not a number", 'a,b\n1,"\n2,3\n'),
    ],
)
def test_what_is_wrong_is_told_at_its_place(message, text):
    with pytest.raises(ValueError, match=message):
        columns(text, ("a", "b"))
