"""Constants of the analysis package. Changeable thresholds are fields of the policies beside their rules."""

from decimal import Decimal
from typing import Final

from programs.prescription.vocabulary import Loading, SetKind

QUOTIENT_PLACES: Final = 6
"""Places to which stored quotients, means and roots are rounded, half to even. Practice."""

CLOCK_MINUTE_PLACES: Final = 2
"""Places of minutes read off the clock, as of declared minutes. Practice."""

ROOT_DIGITS: Final = 50
"""Significant digits of roots and powers before they are rounded. Practice."""

DAYS_PER_WEEK: Final = 7
"""Days of a week's day loads. Source: the calendar."""

MIN_DAYS_FOR_SD: Final = 2
"""Fewest days of which a sample standard deviation exists. Source: definition of the sample variance."""

MAX_REPETITIONS_TO_FAILURE: Final = 12
"""Above this many repetitions to failure no maximum is estimated: the published formulas then differ by more than a
tenth. Source: computed from the seven formulas; the bound itself is practice."""

LINE_REPETITIONS_TO_FAILURE: Final = 10
"""Most repetitions to failure that enter a lift's line. Source: Reynolds, Gordon and Robergs 2006 (10 repetitions or
fewer); 11 and 12 as low confidence is practice."""

LINE_IN_RESERVE: Final = 3
"""Most repetitions in reserve of which an estimate is made. Source: Halperin et al. 2022 and Hackett 2017 (reserve is
told less well further from failure); the bound itself is practice."""

HARD_IN_RESERVE: Final = 4
"""A work set with this many in reserve or fewer is hard. Practice."""

RPE_TOP: Final = Decimal(10)
"""The top of the repetitions-in-reserve scale of exertion. Source: Zourdos et al. 2016."""

RPE_AT_NO_RESERVE: Final = Decimal("9.5")
"""From here on nothing is in reserve (9.5: load could have been added). Source: Zourdos et al. 2016; the row of 9.5
from memory."""

RPE_LOWEST_ESTIMATED: Final = Decimal(7)
"""Below this exertion no maximum is estimated. Source: follows from three in reserve at RPE 7, Zourdos et al. 2016."""

SESSION_RPE_TOP: Final = Decimal(10)
"""The top of the scale for a whole session, 0 to 10. Source: Foster et al., CR-10 scale, secondary pages."""

SLOW_ECCENTRIC_S: Final = 4
"""An eccentric of this length or more makes a tempo slow. Practice."""

SLOW_REPETITION_S: Final = 8
"""A repetition of this length or more makes a tempo slow. Practice."""

PAUSED_S: Final = 2
"""A working pause of this length or more makes a tempo paused. Practice."""

HANDS: Final = 2
"""Hands that hold a load given for each. Source: anatomy."""

PLACE_BOUND_LOADINGS: Final[frozenset[Loading]] = frozenset({"stack", "plate_machine"})
"""Ways of loading whose labels mean something else at each place. Practice."""

SECONDARY_SHARE: Final = Decimal("0.5")
"""A set counts half for a secondary muscle in the fractional count. Source: Pelland et al. 2024, preprint."""

BODYWEIGHT_KNOWN_DAYS: Final = 28
"""A weigh-in is taken as a person's bodyweight for this many days. Practice."""

SESSION_MAX_MIN: Final = Decimal(180)
"""Longer sessions count as unknown until somebody confirms the minutes. Practice."""

SESSION_OVER_PLANNED_RATIO: Final = 2
"""Sessions over this multiple of the planned high time count as unknown until confirmed. Practice."""

MAD_TO_SD_RATIO: Final = Decimal("1.4826")
"""Median absolute deviation times this estimates a standard deviation of normal values. Source: 1 / Phi^-1(3/4),
a textbook constant, from memory."""

PAIN_TOP: Final = 10
"""The top of the pain scale, 0 to 10. Source: the numeric rating scale in common clinical use, from memory."""

EVIDENCE_TOKENS: Final = 30
"""Newest pieces of evidence that a flag remembers. Practice."""

EVIDENCE_TOKEN_BYTES: Final = 4
"""Bytes of the digest that stands for one piece of evidence. Practice."""

TEMPO_TOLERANCE_S: Final = Decimal("0.5")
"""Seconds by which a phase may differ from the tempo asked; the larger of this and the share holds. Practice."""

TEMPO_TOLERANCE_RATIO: Final = Decimal("0.25")
"""Share of the seconds asked by which a phase may differ. Practice."""

TENSION_REACHED_RATIO: Final = Decimal("0.9")
"""From this share of the time under tension meant on it counts as reached. Practice."""

ACUTE_DAYS: Final = 7
"""Span of the short exponentially weighted mean of load. Source: Williams et al. 2017."""

CHRONIC_DAYS: Final = 28
"""Span of the long one, and the days of history before either is shown. Source: Williams et al. 2017; the wait is
custom."""

MOST_UNKNOWN_DAYS: Final = 7
"""With more unknown days among the last 28 no weighted mean is shown. Practice."""

OWN_WEEKS: Final = 6
"""Latest complete weeks that a week's load is described against. Practice."""

OWN_WEEKS_AT_LEAST: Final = 4
"""Fewest of them whose load is wholly known. Practice."""

BODYWEIGHT_RATE_DAYS: Final = 21
"""Days of weigh-ins from which a rate of change is taken. Practice."""

BODYWEIGHT_RATE_AT_LEAST: Final = 8
"""Fewest weigh-ins among them. Practice."""

BODYWEIGHT_TREND_DAYS: Final = 84
"""Days of weigh-ins that the smoothed bodyweight starts from. Practice."""

PER_CENT: Final = 100
"""Hundredths in a whole. Source: definition."""

EQUAL_WORK_RATIO: Final = Decimal("0.05")
"""Share by which two sessions' work may differ and still count as equal. Practice."""

SAME_TIME_RATIO: Final = Decimal("0.03")
"""Below this share of change a time at equal work is called about the same. Practice."""

TOLD_WORK_RATIO: Final = Decimal("0.01")
"""From this share on a difference of work inside what counts as equal is told, and one of power or pace. Practice."""

COMPARED_OCCURRENCES: Final = 3
"""Earlier occurrences whose median the latest is held against. Practice."""

TREND_CONFIDENCE: Final = 0.90
"""Confidence of a trend's interval, so that either end is a one-sided test at 5 %. Practice; equivalence by two
one-sided tests is Schuirmann 1987, from memory."""

TREND_WEEKS_AT_LEAST: Final = 6
"""Fewest weekly values of which a trend is told. Practice."""

NEGLIGIBLE_PCT_PER_WEEK: Final = 0.5
"""Change of strength, in percent a week, inside which an interval wholly must lie to be a plateau. Practice."""

TREND_WEEKS_MOST: Final = 52
"""Most further weeks that are foretold to an undecided trend. Practice."""

TREND_SHRINKS_BY: Final = -1.5
"""Power of the number of evenly spaced points by which a slope's interval narrows. Source: the variance of a slope on
n evenly spaced points is 12 s2 / (n (n2 - 1))."""

EQUAL_LOAD_RATIO: Final = Decimal("0.01")
"""Share by which two loads may differ and still be matched. Practice."""

MATCHED_EXPOSURES: Final = 3
"""Latest earlier exposures whose median the present one is held against. Practice."""

PARTED_SET_KINDS: Final[frozenset[SetKind]] = frozenset({"cluster", "rest_pause"})
"""Kinds of set whose first part is no whole set: it is never held against a straight one. Practice."""

TYPICAL_ERROR_PCT: Final = 4.2
"""Typical error of a one-repetition maximum tested twice, in percent. Source: Grgic et al. 2020 Sports Med Open 6:31,
median coefficient of variation of 32 studies (range 0.5 to 12.1)."""

Z_95: Final = 1.96
"""Standard score of a two-sided 95 % interval. Source: the normal distribution."""

AVERAGED_SESSIONS_MOST: Final = 8
"""Most sessions averaged on either side of a comparison. Practice."""
