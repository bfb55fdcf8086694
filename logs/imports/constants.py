"""Bounds of an imported file, and what guesses rest on."""

from typing import Final

MAX_ROWS: Final = 50_000
"""Rows of a table, blank ones not counted. Practice: years of one person's sets, or months of a team's."""

MAX_ROW_NUMBER: Final = 1_048_576
"""The last row that a spreadsheet can number. Practice: the format's own bound."""

MAX_COLUMNS: Final = 100
"""Columns of a table. Practice."""

MAX_CELL_CHARACTERS: Final = 2_000
"""Characters of one cell. Practice: a long note."""

MAX_TABLE_CHARACTERS: Final = 16_000_000
"""Characters of a whole table, since a spreadsheet may name one long text from every cell. Practice."""

MAX_UNPACKED_BYTES: Final = 64 * 1024 * 1024
"""Bytes of a spreadsheet's parts unpacked: eight times the largest upload. Practice."""

MAX_SIDE_PART_BYTES: Final = 4 * 1024 * 1024
"""Bytes of a part that is read at once (styles, names), unlike rows and shared texts. Practice."""

MAX_PARTS: Final = 1_000
"""Parts of a spreadsheet's archive. Practice."""

MAX_MARKS: Final = 4_000_000
"""Tags of one part, which bounds the memory that a hostile row can ask for. Practice."""

SAMPLES: Final = 5
"""Values of each column that are shown. Practice."""

SAMPLE_CHARACTERS: Final = 60
"""Characters of a shown value. Practice."""

SNIFFED_RECORDS: Final = 50
"""Records that the delimiter is judged by. Practice."""

GUESSED_ROWS: Final = 500
"""Rows that a column's content is judged by. Practice."""

HEADER_LIKENESS_MIN_PCT: Final = 80.0
"""The least likeness of a header to a field's words for the column to be mapped. Practice."""

CANDIDATE_LIKENESS_MIN_PCT: Final = 60.0
"""The least likeness for a field to be offered. Practice."""

CANDIDATES_MAX: Final = 3
"""Fields offered for a column. Practice."""

FITTING_MIN_RATIO: Final = 0.6
"""The least share of a column's values that must read as the field for it to be mapped unasked. Practice."""

TWO_DIGIT_YEARS_FROM: Final = 2000
"""The century of a year written with two digits. Practice: nobody imports training logs of the 1900s so written."""

FIRST_YEAR: Final = 1970
"""The first year that a log may be of: the intake's own bound. Practice."""

MAX_SETS_A_ROW: Final = 30
"""Sets that one row may stand for. Practice."""

SESSIONS_PER_START_MAX_RATIO: Final = 0.5
"""Times of day tell sessions apart if there are at most this many per row: else each set has its own. Practice."""

S_PER_MIN: Final = 60
"""Seconds of a minute. Practice: by definition."""

MIN_PER_H: Final = 60
"""Minutes of an hour. Practice: by definition."""

M_PER_KM: Final = "1000"
"""Metres of a kilometre. Practice: by definition."""

M_PER_MI: Final = "1609.344"
"""Metres of a mile. Source: 1 mile = 1609.344 m exactly (1959 agreement; NIST SP 811)."""

M_PER_YD: Final = "0.9144"
"""Metres of a yard. Source: 1 yard = 0.9144 m exactly (1959 agreement; NIST SP 811)."""
