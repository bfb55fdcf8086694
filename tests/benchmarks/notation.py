"""Written sessions: 200 lines against the time that they may take, and a longer text against a shorter one.

The names are matched against the whole shared catalogue, made anew for each text, as a request does. Times are of the
processor, since nothing is waited for.
"""

from collections.abc import Callable
from itertools import product
from statistics import median
from string import ascii_uppercase
from time import process_time

from programs.catalogue.entries import load_entries
from programs.prescription.names import Catalogue
from programs.prescription.notation import parse_session, print_session
from tests.benchmarks.ratios import Ratio

RUNS = 15
LINES = 200
ALLOWED_MS = 50.0
LONGER = 8
"""How many times longer the long texts are, to see that their time grows no faster."""

BLOCK = """{0}1. Bench press  4 x 6-8 @ 41X1, RPE 8, rest 90s
{0}2. Pull-up  1 x 5 @ 31X1, 3 x 5 @ 20X1, BW + 10 kg, rest 1:30 -- chest to the bar
{0}3. Split squat  3 x 10/side @ 3010, 2 x 22,5 kg, rest 60s
{0}4. Deadlift  ramp to 3 @ RPE 8, then 3 x 5 @ -10% of top, rest 2:30
{0}5. 12 min max rounds: 2 get-up/side, 12 sit-up, 10 ring row; entry: row 2:00"""
LONG_LINES = {
    "a line of words": "squat rest-pause bodyweight-squat max-effort ",
    "a line of figures": "3x5,3x5 82,5 kg; 12/10/8 ",
    "a line of quotation marks": '"\\"\\" ',
    "a line of brackets": "((a (b) [x {y ",
    "a line of joined figures": "2+2-1-1-1/1:1 ",
}


def measure() -> list[Ratio]:
    """Measure 200 lines, and the growth with length of a session, of its print, and of single lines of one kind."""
    text = _text(LINES)
    session, longer = parse_session(text).session, parse_session(_text(LINES * LONGER)).session
    return [
        _against_allowance(text),
        _growth("a written session", lambda: parse_session(text), lambda: parse_session(_text(LINES * LONGER))),
        _growth("a printed session", lambda: print_session(session), lambda: print_session(longer)),
        *(_line_growth(path, piece) for path, piece in LONG_LINES.items()),
    ]


def _text(lines: int) -> str:
    letters = map("".join, product(ascii_uppercase, repeat=2))
    return "\n".join(BLOCK.format(next(letters)) for _ in range(lines // len(BLOCK.splitlines())))


def _against_allowance(text: str) -> Ratio:
    entries = load_entries()
    Catalogue.of(entries)
    took = [_ms(lambda: parse_session(text, Catalogue.of(entries))) for _ in range(RUNS)]
    return Ratio(
        path=f"{LINES} written lines parsed, names matched ({len(entries)} exercises)",
        ours=f"{median(took):.1f} ms",
        baseline=f"{ALLOWED_MS:.0f} ms",
        ratio=median(took) / ALLOWED_MS,
        target=1.0,
        spread=(min(took) / ALLOWED_MS, max(took) / ALLOWED_MS),
        at_most=True,
    )


def _line_growth(path: str, piece: str) -> Ratio:
    short = piece * 200
    return _growth(path, lambda: parse_session(short), lambda: parse_session(short * LONGER))


def _growth(path: str, short: Callable[[], object], long: Callable[[], object]) -> Ratio:
    """Compare the time for each character of a text with that of one many times longer: 1 is linear."""
    pairs = [(_ms(short), _ms(long)) for _ in range(RUNS)]
    ratios = [longer / (shorter * LONGER) for shorter, longer in pairs]
    return Ratio(
        path=f"{path}, {LONGER} times longer, per character",
        ours=f"{median(longer for _, longer in pairs):.1f} ms",
        baseline=f"{LONGER} x {median(shorter for shorter, _ in pairs):.2f} ms",
        ratio=median(ratios),
        target=1.5,
        spread=(min(ratios), max(ratios)),
        at_most=True,
    )


def _ms(run: Callable[[], object]) -> float:
    start = process_time()
    run()
    return (process_time() - start) * 1000
