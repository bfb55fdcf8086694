"""Where rules and figures come from, in the words that go out with them."""

from typing import Final

FOSTER: Final = "Foster 1998 Med Sci Sports Exerc 30:1164-1168; sample SD over seven days with rest days as zeros"
"""Session load, monotony and training strain. Source: abstract read; the kind of SD is not stated there and is ours."""

EWMA: Final = "Williams, West, Cross and Stokes 2017 Br J Sports Med 51:209-210"
"""Exponentially weighted load. Source: read."""

RESERVE: Final = "Zourdos et al. 2016 J Strength Cond Res 30:267-275; Halperin et al. 2022 Sports Med 52:377-390"
"""Exertion by repetitions in reserve, and how well people tell it. Source: abstracts read."""

FORMULAS: Final = "one-repetition maximum formulas as listed in agreeing secondary pages; originals not seen"
"""The seven formulas. Source: secondary pages."""

PREDICTION_ERROR: Final = (
    "Reynolds, Gordon and Robergs 2006 (J Strength Cond Res 20:584-592) found a standard error of about 3 kg on the "
    "chest press and 16 kg on the leg press, predicting from five repetitions; Hutchins and Gearhart 2010 a total "
    "error of 10.6 to 13.5 % of the mean on the bench press"
)
"""Published error of predicting a maximum. Source: abstracts read."""

PAIN_MONITORING: Final = (
    "after the pain-monitoring model of Silbernagel et al. 2007 Am J Sports Med 35:897, studied in tendinopathy under "
    "a clinician; the limits here are practice"
)
"""Pain while training. Source: abstract read; limits from memory and practice."""

PRACTICE: Final = "common practice, no source"
"""Said of every threshold that no study backs. Practice."""

LOAD_RATIO_CRITICISM: Final = (
    "Lolli et al. 2019 Br J Sports Med 53:921: a ratio whose halves share days correlates with them by arithmetic "
    "alone; Impellizzeri et al. 2021 Sports Med: dividing by a constant or by random numbers served nearly as well, "
    "and they call to dismiss it; Impellizzeri et al. 2020 Int J Sports Physiol Perform 15:907-913: no causal ground "
    "for injury"
)
"""What is said against the ratio of a short to a long mean of load. Source: abstracts and secondary pages."""

THEIL_SEN: Final = (
    "Theil-Sen: the median of all pairwise slopes on real dates, with its 90 % interval after Kendall's tau"
)
"""Rates of change. Source: textbook method."""
