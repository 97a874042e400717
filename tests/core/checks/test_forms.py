"""What a form carries: its caution, and words that are still the preset's."""

from __future__ import annotations

from reliefsmith.checks.forms import form_findings
from reliefsmith.recipe.sections import FormSettings, Inscription


def test_a_form_without_a_caution_says_nothing() -> None:
    assert form_findings(FormSettings(), (Inscription("Larkwater"),)) == ()


def test_a_caution_is_told_under_the_name_of_its_form() -> None:
    (named,) = form_findings(FormSettings(kind="coaster", caution="Softens under a hot cup."), ())
    (bare,) = form_findings(FormSettings(caution="Softens under a hot cup."), ())
    assert (named.code, named.message) == ("form-caution", "Coaster: Softens under a hot cup.")
    assert bare.message == "Softens under a hot cup."


def test_each_text_that_still_has_the_example_is_told_by_its_number() -> None:
    form = FormSettings(kind="sign", example="Your Name")
    texts = [Inscription(words) for words in ("Kite Day", "For Your Name", "Your Name")]
    found = form_findings(form, texts)
    assert [item.code for item in found] == ["text-example"] * 2
    assert ["lettering.2.text" in found[0].message, "lettering.3.text" in found[1].message] == [True, True]


def test_no_example_is_in_no_text() -> None:
    """An empty example would be part of every text."""
    assert form_findings(FormSettings(example=""), (Inscription("Kite Day"),)) == ()
