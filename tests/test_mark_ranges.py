import pytest

from render.figures.mark_ranges import mark_ranges


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        ((), ""),
        (("A1",), "A1"),
        (("A1", "A2"), "A1, A2"),
        (("A1", "A2", "A3"), "A1 to A3"),
        (("A-P1", "A-P2", "A-P3", "A-T1-1", "A-T1-2", "A-T1-3"), "A-P1 to A-P3, A-T1-1 to A-T1-3"),
        (("A-T1-9", "A-T1-10", "A-T1-11"), "A-T1-9 to A-T1-11"),
        (("A1a", "A1b", "B2", "A3"), "A1a, A1b, B2, A3"),
        (("A3", "A2", "A1"), "A3, A2, A1"),
    ],
)
def test_marks_that_count_on_are_told_by_the_first_and_the_last(marks: tuple[str, ...], words: str) -> None:
    assert mark_ranges(marks) == words


def test_marks_that_are_not_named_are_counted() -> None:
    assert mark_ranges(("A1", "A2", "A3", "B1", "C1", "C2"), most=1) == "A1 to A3 and 3 more"
    assert mark_ranges(("A1", "A2", "A3", "B1", "C1", "C2"), most=3) == "A1 to A3, B1, C1, C2"
