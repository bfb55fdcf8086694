import pytest

from coaching.screening.red_flags import RED_FLAGS, SYMPTOM_CODES, URGENCIES, UnknownSymptomError, caution_for, red_flag


@pytest.mark.parametrize("code", SYMPTOM_CODES)
def test_every_caution_says_to_stop_whom_to_call_and_what_it_is_not(code):
    text = caution_for([code])
    for words in (
        RED_FLAGS[code].words,
        "Stop training now",
        "emergency number",
        "not a diagnosis",
        "nobody is watching it in real time",
        "licensed clinician",
    ):
        assert words in text


def test_the_most_urgent_symptom_decides_what_to_do_first():
    text = caution_for(["dizziness", "dark_urine", "chest_pain", "dizziness"])
    assert "Stop training now and call your local emergency number." in text
    assert text.index("chest") < text.index("dark urine") < text.index("dizziness")
    assert text.count("dizziness") == 1


def test_what_no_coach_will_see_does_not_say_that_one_does():
    text = caution_for(["chest_pain"], stored=False)
    assert "sees this report" not in text
    assert "This could not be stored; tell your coach yourself." in text
    assert RED_FLAGS["chest_pain"].words in text


def test_a_general_caution_says_what_to_do_and_not_what_was_reported():
    text = caution_for(["chest_pain", "dizziness"], stored=False, named=False)
    assert text.startswith("Stop training now and call your local emergency number.")
    assert "reported" not in text
    assert not any(flag.words in text for flag in RED_FLAGS.values())


def test_no_symptom_gives_no_caution():
    assert caution_for([]) == ""


def test_every_symptom_has_a_known_urgency_and_a_source():
    assert all(flag.urgency in URGENCIES and flag.source and flag.code == code for code, flag in RED_FLAGS.items())


def test_an_unknown_symptom_is_refused_with_the_nearest():
    with pytest.raises(UnknownSymptomError, match=r"no symptom 'chestpain'; use one of: chest_pain"):
        caution_for(["chestpain"])


def test_a_symptom_like_nothing_known_is_refused_with_the_whole_list():
    with pytest.raises(UnknownSymptomError) as refusal:
        red_flag("zzz")
    assert all(code in str(refusal.value) for code in SYMPTOM_CODES)
