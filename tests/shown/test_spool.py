"""What is left on the spool, as it is typed."""

import pytest

from viewer.errors import BeadlineError
from viewer.shown.spool import grams_of, grams_text


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("250", 250.0),
        ("250 g", 250.0),
        (" 0.25 KG ", 250.0),
        ("0,25kg", 250.0),
        ("0", 0.0),
        (".5 g", 0.5),
        ("50 kg", 5e4),
    ],
)
def test_amounts(text: str, grams: float) -> None:
    assert grams_of(text) == pytest.approx(grams)
    assert grams_of(grams_text(grams)) == pytest.approx(grams)


@pytest.mark.parametrize("text", ["", "g", "-3", "abc", "250 m", "51 kg", "1e3", "nan", "2 50", "1.2.3"])
def test_what_is_no_amount_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(BeadlineError, match=r"is no amount from 0 to 50 kg; write it as 250 g or 0.25 kg\.$"):
        grams_of(text)
