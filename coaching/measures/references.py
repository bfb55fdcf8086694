"""Where the measures come from, in the words that go out with them."""

from typing import Final

HOOPER: Final = (
    "Hooper and Mackinnon 1995 Med Sci Sports Exerc 27:106-112 (four items of 1 to 7, higher is worse, and their sum); "
    "items and sum confirmed in Moalla et al. 2016 Res Sports Med 24:387"
)
"""The four scales and their sum. Source: secondary pages that agree."""

BASELINE: Final = "against the person's own earlier entries; windows, fewest entries and bounds are common practice"
"""Standard scores against a baseline. Practice."""

HRV: Final = (
    "Plews et al. 2013 Int J Sports Physiol Perform (weekly means of ln RMSSD) and 2014, 9:783 (three values a week or "
    "more); half a standard deviation of the baseline as the smallest change of note from memory"
)
"""Heart rate variability. Source: abstracts and a secondary page."""

HRV_BOTH_WAYS: Final = (
    "Plews et al. 2013 Sports Med 43:773: in endurance athletes a rise can be unwelcome as well as a fall"
)
"""That neither direction is good by itself. Source: abstract read."""

RESTING_HR: Final = (
    "common practice, no source: more than 5 b/min and more than one own standard deviation above baseline"
)
"""Resting heart rate. Practice."""

SELF_REPORT: Final = (
    "Saw, Main and Gastin 2016 Br J Sports Med 50:281: what people say of themselves follows load more consistently "
    "than what is measured of them, and the two mostly do not go together"
)
"""Why the answers stand first. Source: abstract read."""

BODYWEIGHT: Final = (
    "exponentially weighted by days elapsed, alpha 0.1 a day, common practice; day-to-day changes of half a kilogram "
    "are very common (NHS Grampian, secondary page)"
)
"""Smoothed bodyweight. Practice; noise from a secondary page."""
