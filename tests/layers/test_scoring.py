"""Who is asked for has the tune in the plan too: as its lead, or as one who joins it."""

from __future__ import annotations

import pytest

from tests.layers.test_plan import plan


@pytest.mark.parametrize("who", ["Clarinet 1", "Violins I"])
def test_who_must_have_the_tune_leads_it_though_form_would_have_another(who: str) -> None:
    """The same material four times on end: form would hand it from family to family."""
    brief = f'[[direction]]\nrole = "melody"\nbars = "1-16"\nmust = ["{who}"]\n'
    same = [("A", "p")] * 4
    assert len({phrase.lead for phrase in plan(same)}) > 1
    assert {phrase.lead for phrase in plan(same, brief=brief)} == {"clarinets" if who == "Clarinet 1" else "violins"}


def test_who_is_asked_for_besides_the_lead_joins_the_tune_and_nobody_leads_alone() -> None:
    for dynamic in ("p", "mf"):
        brief = '[[direction]]\nrole = "melody"\nprefer = ["Oboe 1", "Violas"]\n'
        for phrase in plan([(label, dynamic) for label in "ABCDE"], brief=brief):
            lead, other = ("oboes", "violas") if phrase.lead == "oboes" else ("violas", "oboes")
            assert (phrase.lead, phrase.joined[0]) == (lead, other)
            assert phrase.doublers >= 2 and phrase.scheme not in ("solo", "winds alone", "strings alone")
            assert all(other in turn.joined for turn in phrase.turns)
