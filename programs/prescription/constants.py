"""The figures of prescriptions, each with where it comes from.

Values that a business may change are fields of a policy dataclass whose defaults stand here.
"""

from decimal import Decimal
from typing import Final

# --- Tempo ---------------------------------------------------------------------------------------------------

TEMPO_PARTS: Final = 4
"""Parts of a tempo. Source: notation as in Wilk et al. 2018 J Hum Kinet."""

COMPACT_PART_MAX_S: Final = 9
"""The longest part that one digit can say. Practice."""

TEMPO_PART_MAX_S: Final = 60
"""The longest part of a tempo. Practice."""

EXPLOSIVE_S: Final = 1
"""Seconds counted for X and A on the concentric; X has no published duration. Practice."""

# --- Limits of a document ------------------------------------------------------------------------------------

WEEKS_MAX: Final = 52
"""Weeks in one version. Practice."""

DAYS_MAX: Final = 14
"""Days in one week of a version; two sessions a day is the most. Practice."""

BLOCKS_MAX: Final = 20
"""Blocks in one session. Practice."""

SLOTS_MAX: Final = 12
"""Slots in one block. Practice."""

SET_GROUPS_MAX: Final = 30
"""Set groups in one slot. Practice."""

SEGMENTS_MAX: Final = 10
"""Segments in one set. Practice."""

SEGMENTS_MIN: Final = 2
"""The fewest stretches that make a set of segments. Practice."""

SET_COUNT_MAX: Final = 20
"""Sets in one group. Practice."""

ROUNDS_MAX: Final = 100
"""Rounds of one block. Practice."""

EVERY_MIN_S: Final = 10
"""The shortest interval at which a clock starts a set. Practice."""

EVERY_MAX_S: Final = 3_600
"""The longest interval at which a clock starts a set, an hour. Practice."""

REPS_MAX: Final = 500
"""Repetitions in one set. Practice."""

DURATION_MAX_S: Final = 14_400
"""The longest single piece of work, four hours. Practice."""

DISTANCE_MAX_M: Final = 100_000
"""The longest single distance. Practice."""

CALORIES_MAX_KCAL: Final = 2_000
"""The most kilocalories of one piece of machine work. Practice."""

REST_MAX_S: Final = 1_800
"""The longest rest that can be written, half an hour. Practice."""

SESSION_MAX_MIN: Final = 360
"""The longest cap on a session or block, and the longest timed block. Practice."""

LOAD_MAX_KG: Final = Decimal(1000)
"""The greatest load that can be written. Practice."""

LOAD_MAX_LB: Final = Decimal(2200)
"""The greatest load that can be written, in pounds. Practice."""

ASSISTANCE_MAX_KG: Final = Decimal(200)
"""The greatest assistance, which is a negative added load. Practice."""

ASSISTANCE_MAX_LB: Final = Decimal(440)
"""The greatest assistance in pounds. Practice."""

PERCENT_MIN_PCT: Final = Decimal(1)
"""The least percentage of a reference load. Practice."""

PERCENT_MAX_PCT: Final = Decimal(150)
"""The greatest percentage of a reference load: partial and eccentric work go over 100. Practice."""

TOP_CHANGE_MIN_PCT: Final = Decimal(-90)
"""The largest cut from the day's top set. Practice."""

TOP_CHANGE_MAX_PCT: Final = Decimal(20)
"""The largest rise over the day's top set. Practice."""

PAIRED_SLOTS_MIN: Final = 2
"""The fewest slots of a paired block. Practice: two to four exercises are paired back to back."""

PAIRED_SLOTS_MAX: Final = 4
"""The most slots of a paired block. Practice: two to four exercises are paired back to back."""

CIRCUIT_SLOTS_MIN: Final = 2
"""The fewest slots of a circuit. Practice."""

RPE_MIN: Final = Decimal(1)
"""The bottom of the scale of effort. Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275."""

RPE_MAX: Final = Decimal(10)
"""The top of the scale of effort. Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275."""

IN_RESERVE_MAX: Final = Decimal(10)
"""The most repetitions in reserve that anyone can tell. Practice."""

EFFORT_STEP: Final = Decimal("0.5")
"""Effort is said in halves. Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275."""

TITLE_MAX_CHARACTERS: Final = 120
"""The longest title. Practice."""

KEY_MAX_CHARACTERS: Final = 80
"""The longest key of an exercise, slot or template. Practice."""

LABEL_MAX_CHARACTERS: Final = 20
"""The longest label of a block. Practice."""

NOTES_MAX_CHARACTERS: Final = 2_000
"""The longest note on a slot. Practice."""

BAND_MAX_CHARACTERS: Final = 80
"""The longest name of a band. Practice."""

SESSION_SETS_MAX: Final = 400
"""Sets in one session, rounds multiplied out. Practice."""

# --- The timeline --------------------------------------------------------------------------------------------

MONTHS_PER_YEAR: Final = 12
"""Months in a year. Source: the calendar."""

S_PER_MIN: Final = 60
"""Seconds in a minute. Source: the definition of the minute."""

CHANGE_STATION_GYM_S: Final = 30
"""Least time to change station in a gym. Practice."""

CHANGE_STATION_HOME_S: Final = 15
"""Least time to change station at home. Practice."""

CHANGE_SIDES_S: Final = 5
"""Time to change sides within a set. Practice."""

BETWEEN_BLOCKS_S: Final = 120
"""Time between two blocks. Practice."""

RAMP_SETS: Final = 3
"""Ramp sets before the first heavy lift of a pattern. Practice."""

RAMP_SET_S: Final = 75
"""Time of one ramp set with its rest. Practice."""

HEAVY_REPS_MAX: Final = 6
"""Most repetitions of a set called heavy. Source: ACSM 2009 Med Sci Sports Exerc 41:687-708 (1-6 RM)."""

HEAVY_PCT: Final = Decimal(80)
"""Least share of the maximum called heavy. Practice."""

USUAL_REPETITION_S: Final = Decimal(3)
"""Seconds of a repetition where neither a tempo nor the exercise says. Practice."""

TO_LIMIT_REPS_LOW: Final = 5
"""Fewest repetitions reckoned for a set to the limit whose number is not written. Practice."""

TO_LIMIT_REPS_HIGH: Final = 20
"""Most repetitions reckoned for a set to the limit whose number is not written. Practice."""

S_PER_M_LOADED: Final = Decimal(1)
"""Seconds a metre with a carry, a sled or a bag. Practice."""

S_PER_M_MACHINE: Final = Decimal("0.25")
"""Seconds a metre on a machine with a monitor (500 m in about two minutes). Practice."""

S_PER_M_ON_FOOT: Final = Decimal("0.35")
"""Seconds a metre on foot without a load (a kilometre in about six minutes). Practice."""

S_PER_KCAL: Final = Decimal(5)
"""Seconds a kilocalorie on a machine's monitor. Practice."""

PACE_SESSIONS_MIN: Final = 6
"""Fewest sessions with known minutes from which a client's usual pace is told. Practice."""

PACE_SESSIONS_MAX: Final = 20
"""The last planned sessions done that a client's usual pace is found among. Practice."""

TEMPO_FACTOR_MIN: Final = Decimal("0.3")
"""The least share of a reference that a coach may take at a slow or paused tempo. Practice."""

TEMPO_FACTOR_MAX: Final = Decimal(1)
"""The most: a slow or paused repetition is never lifted with more than a standard one. Practice."""

REST_STRENGTH_S: Final = 180
"""Rest assumed after a straight strength or power set. Source: ACSM 2009 Med Sci Sports Exerc 41:687-708 (3-5 min)."""

REST_SIZE_S: Final = 90
"""Rest assumed after a straight size set. Source: Singer et al. 2024 Front Sports Act Living 6:1429789."""

REST_ENDURANCE_S: Final = 30
"""Rest assumed after an endurance set. Source: NSCA goal table (30 s or less)."""

REST_OTHER_S: Final = 60
"""Rest assumed after a set of technique, conditioning or mobility. Practice."""

REST_UNSAID_S: Final = 90
"""Rest assumed after a straight set whose goal is unsaid. Practice."""

PAIRED_REST_STRENGTH_S: Final = 90
"""Rest assumed between the sets of a strength pairing. Practice."""

PAIRED_REST_OTHER_S: Final = 60
"""Rest assumed between the sets of any other pairing. Practice."""

CIRCUIT_REST_S: Final = 15
"""Rest assumed between the stations of a circuit. Practice."""

MAX_ROUNDS_SETS_SHOWN: Final = 200
"""Sets played out of a block of as many rounds as possible; the rest is one stretch of time. Practice."""

# --- Least effective rest ------------------------------------------------------------------------------------

LEAST_REST_MAXIMAL_S: Final = 180
"""Least rest at 1 to 3 repetitions, or 90 % and over. Source: ACSM 2009 Med Sci Sports Exerc 41:687-708."""

LEAST_REST_HEAVY_S: Final = 150
"""Least rest at 4 to 6 repetitions, or 80 % and over. Source: between Grgic et al. 2018 (over 2 min) and ACSM 2009."""

LEAST_REST_STRENGTH_S: Final = 120
"""Least rest at any strength work. Source: Grgic et al. 2018 Sports Med 48:137-151."""

LEAST_REST_NOVICE_S: Final = 90
"""Least rest at strength work under 6 months of training. Source: Grgic et al. 2018 Sports Med 48:137-151."""

LEAST_REST_SIZE_S: Final = 90
"""Least rest at many-joint size work. Source: Singer et al. 2024 Front Sports Act Living 6:1429789."""

LEAST_REST_SIZE_SINGLE_JOINT_S: Final = 60
"""Least rest at single-joint size work. Source: Singer et al. 2024 Front Sports Act Living 6:1429789."""

LEAST_REST_ENDURANCE_S: Final = 20
"""Least rest at endurance work. Source: de Salles et al. 2009 Sports Med 39:765 (from memory)."""

MAXIMAL_REPS_MAX: Final = 3
"""Most repetitions of a set called maximal. Practice."""

MAXIMAL_PCT: Final = Decimal(90)
"""Least share of the maximum called maximal. Practice."""

# --- Stimulus ------------------------------------------------------------------------------------------------

TUT_STRENGTH_MAX_S: Final = 20
"""Upper end, inclusive, of the strength band of time under tension: a coaching heuristic. Practice."""

TUT_STRENGTH_SIZE_MAX_S: Final = 40
"""Upper end, inclusive, of the strength and size band: a coaching heuristic. Practice."""

TUT_SIZE_MAX_S: Final = 70
"""Upper end, inclusive, of the size band: a coaching heuristic. Practice."""

ZONE_STRENGTH_REPS_MAX: Final = 6
"""Most repetitions of the strength zone. Source: NSCA goal table."""

ZONE_STRENGTH_MIN_PCT: Final = Decimal(85)
"""Least share of the maximum of the strength zone. Source: NSCA goal table."""

ZONE_SIZE_REPS_MIN: Final = 6
"""Fewest repetitions of the size zone. Source: NSCA goal table."""

ZONE_SIZE_REPS_MAX: Final = 12
"""Most repetitions of the size zone. Source: NSCA goal table."""

ZONE_SIZE_MIN_PCT: Final = Decimal(67)
"""Least share of the maximum of the size zone. Source: NSCA goal table."""

ZONE_SIZE_MAX_PCT: Final = Decimal(85)
"""Greatest share of the maximum of the size zone. Source: NSCA goal table."""

ZONE_ENDURANCE_REPS_MIN: Final = 12
"""Fewest repetitions of the endurance zone. Source: NSCA goal table."""

ZONE_ENDURANCE_MAX_PCT: Final = Decimal(67)
"""Greatest share of the maximum of the endurance zone. Source: NSCA goal table."""

ZONE_POWER_SINGLE_REPS: Final = (1, 2)
"""Repetitions of the power zone of single efforts. Source: NSCA goal table."""

ZONE_POWER_SINGLE_PCT: Final = (Decimal(80), Decimal(90))
"""Share of the maximum of the power zone of single efforts. Source: NSCA goal table."""

ZONE_POWER_REPEATED_REPS: Final = (3, 5)
"""Repetitions of the power zone of repeated efforts. Source: NSCA goal table."""

ZONE_POWER_REPEATED_PCT: Final = (Decimal(75), Decimal(85))
"""Share of the maximum of the power zone of repeated efforts. Source: NSCA goal table."""

STIMULUS_RESERVE_MAX: Final = Decimal(3)
"""Farthest from failure at which a goal's mismatch is worth a note. Practice."""

STIMULUS_MARGIN_RATIO: Final = Decimal("0.15")
"""How far past its band a value must be to be worth a note. Practice."""

# --- The week ------------------------------------------------------------------------------------------------

HARD_RESERVE_MAX: Final = Decimal(4)
"""Most repetitions in reserve of a hard set. Practice."""

SECONDARY_SHARE: Final = Decimal("0.5")
"""A set's worth to a secondary muscle in the fractional count. Source: Pelland et al. 2024 SportRxiv (preprint)."""

WEEK_SETS_LOW: Final = Decimal(5)
"""Below this many weekly sets a muscle is in the low band. Source: Schoenfeld et al. 2017 J Sports Sci 35:1073-1082."""

WEEK_SETS_HIGH: Final = Decimal(10)
"""From this many weekly sets a muscle is in the high band. Source: Schoenfeld et al. 2017 J Sports Sci 35:1073-1082."""

WEEK_SETS_ABOVE_STUDIED: Final = Decimal(20)
"""Above this many only one muscle gained more. Source: Baz-Valle et al. 2022 (PMC8884877)."""

BALANCE_MAX_RATIO: Final = Decimal(2)
"""How many times the sets of one side of a balance may be those of the other. Practice: no range is published."""

BALANCE_SETS_MIN: Final = 10
"""Fewest sets of both sides of a balance together that are worth weighing. Practice."""

NOVICE_MONTHS: Final = 6
"""Months of training under which a client is a novice. Practice: trials call people untrained up to about here."""

# --- Tempo classes, loads ------------------------------------------------------------------------------------

SLOW_ECCENTRIC_S: Final = 4
"""An eccentric from here on makes a slow tempo. Practice."""

SLOW_REPETITION_S: Final = 8
"""A repetition from here on makes a slow tempo. Practice."""

PAUSED_S: Final = 2
"""A working pause from here on makes a paused tempo. Practice."""

TRAINING_MAX_RATIO: Final = Decimal("0.90")
"""A training maximum as a share of the best known maximum, where none is set. Practice."""

PERCENT: Final = Decimal(100)
"""Parts in a whole, as a percentage counts them. Source: the definition of per cent."""

STEP_PLATES_KG: Final = Decimal("2.5")
"""Smallest symmetric step of a bar or plate machine. Practice."""

STEP_PLATES_LB: Final = Decimal(5)
"""Smallest symmetric step of a bar or plate machine, in pounds. Practice."""

STEP_DUMBBELL_KG: Final = Decimal(2)
"""Step of a dumbbell rack. Practice."""

STEP_DUMBBELL_LB: Final = Decimal(5)
"""Step of a dumbbell rack, in pounds. Practice."""

STEP_KETTLEBELL_KG: Final = Decimal(4)
"""Step between kettlebells. Practice."""

STEP_KETTLEBELL_LB: Final = Decimal(5)
"""Step between kettlebells, in pounds. Practice."""

STEP_STACK_KG: Final = Decimal(5)
"""Step of a weight stack. Practice."""

STEP_STACK_LB: Final = Decimal(10)
"""Step of a weight stack, in pounds. Practice."""

BAR_KG: Final = Decimal(20)
"""An empty bar. Practice."""

BAR_LB: Final = Decimal(45)
"""An empty bar, in pounds. Practice."""

BARS_KG: Final = (Decimal(20), Decimal(15))
"""The two usual bars, the usual one first. Practice: the common sizes of gyms that load in kilograms."""

BARS_LB: Final = (Decimal(45), Decimal(35))
"""The two usual bars in pounds, the usual one first. Practice: the common sizes of gyms that load in pounds."""

PLATES_KG: Final = tuple(map(Decimal, ("25", "20", "15", "10", "5", "2.5", "1.25")))
"""The usual plates, heaviest first. Practice: the common set of gyms that load in kilograms."""

PLATES_LB: Final = tuple(map(Decimal, ("45", "35", "25", "10", "5", "2.5")))
"""The usual plates in pounds, heaviest first. Practice: the common set of gyms that load in pounds."""

# --- Pairings ------------------------------------------------------------------------------------------------

PAIRINGS_EXERCISES_MAX: Final = 12
"""Most exercises of which every pairing is tried. Practice: a session of more is rare."""

PAIRINGS_REST_STEP_S: Final = 5
"""Rests inside a pairing are whole multiples of this. Practice."""

PAIRINGS_CUTS_MAX: Final = 5
"""Most sets that a suggested cut takes from one exercise. Practice."""

# --- Conditioning --------------------------------------------------------------------------------------------

SLOW_MOVEMENT_S: Final = 15
"""A repetition from here on slows a round down. Practice."""

PRE_FATIGUE_ENTRY_S: Final = 60
"""Steady machine work from here on, before the rounds, is a pre-fatigue entry. Practice."""

UNBRAKED_MAX_MIN: Final = 6
"""Longest conditioning block that needs no brake. Practice."""

SAFE_TIRED_COMPLEXITY_MAX: Final = 1
"""Most complex movement called safe when tired. Practice."""

COMPLEX_MOVEMENT_MIN: Final = 3
"""From this complexity a movement does not belong under fatigue. Practice."""

NEAR_MAXIMAL_RPE: Final = Decimal(9)
"""Effort from which work is read as near-maximal. Practice."""

PHOSPHAGEN_WORK_S: Final = (5, 10)
"""Work of the phosphagen row. Source: NSCA Essentials, table 3.6 (read in two agreeing pages)."""

PHOSPHAGEN_REST_RATIO: Final = (12, 20)
"""Rest for each second of phosphagen work. Source: NSCA Essentials, table 3.6 (read in two agreeing pages)."""

FAST_GLYCOLYSIS_WORK_S: Final = (15, 30)
"""Work of the fast glycolysis row. Source: NSCA Essentials, table 3.6 (read in two agreeing pages)."""

FAST_GLYCOLYSIS_REST_RATIO: Final = (3, 5)
"""Rest for each second of fast glycolysis work. Source: NSCA Essentials, table 3.6 (read in two agreeing pages)."""

FAST_OXIDATIVE_WORK_S: Final = (60, 180)
"""Work of the fast glycolysis and oxidative row. Source: NSCA Essentials, table 3.6 (read in two agreeing pages)."""

FAST_OXIDATIVE_REST_RATIO: Final = (3, 4)
"""Rest for each second of that work. Source: NSCA Essentials, table 3.6 (read in two agreeing pages)."""

OXIDATIVE_REST_RATIO: Final = (1, 3)
"""Rest for each second of oxidative work, over 3 min. Source: NSCA Essentials, table 3.6 (two agreeing pages)."""

PREDICTED_MAX_BPM: Final = Decimal(208)
"""Predicted maximal heart rate at age 0. Source: Tanaka, Monahan, Seals 2001 J Am Coll Cardiol 37:153."""

PREDICTED_MAX_BPM_PER_YEAR: Final = Decimal("0.7")
"""Fall of the predicted maximum by year of age. Source: Tanaka, Monahan, Seals 2001 J Am Coll Cardiol 37:153."""

PREDICTED_MAX_ERROR_BPM: Final = 10
"""Error of such predictions: 7-11 b/min, SD 10-12. Source: Robergs and Landwehr 2002; Gellish 2007."""

RESERVE_LIGHT_PCT: Final = 30
"""From this share of heart rate reserve work is light. Source: ACSM, Garber 2011 Med Sci Sports Exerc 43:1334."""

RESERVE_MODERATE_PCT: Final = 40
"""From this share it is moderate. Source: ACSM, Garber 2011 Med Sci Sports Exerc 43:1334."""

RESERVE_VIGOROUS_PCT: Final = 60
"""From this share it is vigorous. Source: ACSM, Garber 2011 Med Sci Sports Exerc 43:1334."""

RESERVE_NEAR_MAXIMAL_PCT: Final = 90
"""From this share it is near-maximal. Source: ACSM, Garber 2011 Med Sci Sports Exerc 43:1334."""

RESTING_MIN_BPM: Final = 25
"""Lowest resting heart rate that is believed. Practice."""

HEART_RATE_MAX_BPM: Final = 230
"""Highest heart rate that is believed. Practice."""

AGE_MAX_YEARS: Final = 110
"""Highest age that is believed. Practice."""

ROWING_WATTS: Final = Decimal("2.80")
"""Watts at one second a metre on a rowing machine: W = 2.80 / pace^3. Source: trade fact, several agreeing pages."""

ROWING_SPLIT_M: Final = 500
"""Metres of a split. Source: trade fact, several agreeing pages."""

# --- Progression ---------------------------------------------------------------------------------------------

PROGRESSION_RULES_MAX: Final = 40
"""Rules in one version. Practice."""

PROGRESSION_TARGETS_MAX: Final = 40
"""Slots or sessions named by one rule. Practice."""

WAVE_WEEKS_MAX: Final = 8
"""Weeks of one wave. Practice."""

DELOAD_SETS_PCT: Final = Decimal(50)
"""Share of the sets kept in a deload week. Practice: Rogerson 2024 Sports Med Open found volume down, no dose."""

DELOAD_LOAD_PCT: Final = Decimal(-10)
"""Change of the load in a deload week. Practice: Rogerson 2024 Sports Med Open found it somewhat down, no dose."""

DELOAD_EVERY_MIN_WEEKS: Final = 2
"""Shortest distance between deload weeks. Practice."""

LOAD_RISE_MAX_PCT: Final = Decimal(10)
"""Rise in load from one week to the next that is worth a note. Source: ACSM 2009 Med Sci Sports Exerc 41:687-708."""

WEEK_SETS_RISE_MAX_PCT: Final = Decimal(30)
"""Rise in weekly working sets that is worth a note. Practice."""

# --- Substitutes ---------------------------------------------------------------------------------------------

SUBSTITUTE_PATTERN_WEIGHT: Final = Decimal("0.35")
"""What the same movement pattern is worth of a substitute's closeness. Practice."""

SUBSTITUTE_MUSCLES_WEIGHT: Final = Decimal("0.35")
"""What the same muscles are worth of a substitute's closeness. Practice."""

SUBSTITUTE_START_WEIGHT: Final = Decimal("0.05")
"""What starting a repetition at the same end is worth of a substitute's closeness. Practice."""

SUBSTITUTE_RESTFUL_END_WEIGHT: Final = Decimal("0.05")
"""What resting at the same end is worth of a substitute's closeness. Practice."""

SUBSTITUTE_LATERALITY_WEIGHT: Final = Decimal("0.08")
"""What working the same sides at once is worth of a substitute's closeness. Practice."""

SUBSTITUTE_LOADING_WEIGHT: Final = Decimal("0.12")
"""What being loaded alike is worth of a substitute's closeness. Practice."""

SUBSTITUTE_RELATED_SHARE: Final = Decimal("0.5")
"""Share of a weight that a related pattern or kind of loading is worth. Practice."""

SUBSTITUTE_MUSCLES_MIN_RATIO: Final = Decimal("0.5")
"""Least likeness of muscles (cosine) within the same pattern or a related one. Practice."""

SUBSTITUTE_OTHER_PATTERN_MIN_RATIO: Final = Decimal("0.7")
"""Least likeness of muscles (cosine) where the pattern is another. Practice."""

SUBSTITUTES_MAX: Final = 20
"""How many substitutes a list offers. Practice."""
