# ruff: noqa: RUF001 - the texts are as coaches write them

"""Fifty thousand written lines, each spoilt by chance: none of them raises."""

import random

from programs.prescription.document import decode_session, encode_session
from programs.prescription.notation import parse_session

LINES = """A1. Bench press  4 x 6-8 @ 41X1, RPE 8, rest 90s
A2) Pull-up 4 x 5 @ 31X2, BW + 10 kg, rest 1:30 -- chest to bar, "dead" hang
B1: Split squat 3 x 10/side @ 3010, 2 x 24 kg, :60
C. 12 min max rounds: 2 get-up/side, 12 sit-up, 10 ring row; entry: row 2:00
D. 8 x 40s on / 20s off: bike, ski @ RPE 7
- [weird.key-1] {odd key} 3 x 5, band "red", same as [A.1]
1 x 5 @ 31X1, 3 x 5 @ 20X1 front squat, goal strength, cap 12 min
Squat ramp to 3 @ RPE 8, then 3 x 5 @ -10% of top, 75% TM, 82,5% e1RM
Deadlift 4 x 2+2+2, 20s inside, 1 x 12 + drop 2 x -20%
Row 3 x 5 + 20s + 2 + 15s + AMRAP -36%, last set AMRAP, 12/10/8
EMOM x 10 rounds: 5 clean (60 kg) + 20 cal bike + 40 m carry
# Lower “A”
template: lower-a
cap 60 min""".splitlines()
PIECES = [*" ,;:@x+-/%()[]{}\"'\\.#*–—“”０１×é\t0123456789abXA|~", "rest ", "RPE ", "kg", " AMRAP", "--", "\n", "\r\n",
          "min", "\u2028", "\x00", "\ud800", "\U0010ffff", "٣", "²", "drop", "9" * 400, " " * 50, "\\u("]  # fmt: skip
MUTATED = 50_000
CHECKED_EVERY = 50


def spoilt(chance, text):
    for _ in range(chance.randint(1, 4)):
        place = chance.randrange(len(text) + 1)
        match chance.randrange(5):
            case 0:
                text = text[:place] + chance.choice(PIECES) + text[place:]
            case 1:
                text = text[:place] + text[place + chance.randint(1, 4) :]
            case 2:
                text = text[:place] + chance.choice(PIECES) + text[place + 1 :]
            case 3:
                other = chance.choice(LINES)
                start = chance.randrange(len(other))
                text = text[:place] + other[start : start + 8] + text[place:]
            case _:
                end = place + chance.randint(1, 8)
                text = text[:place] + text[place:end] * 2 + text[end:]
    return text


def test_no_mutation_of_a_written_line_raises():
    chance = random.Random(20_240_607)
    unanswered = []
    for number in range(MUTATED):
        text = spoilt(chance, LINES[number % len(LINES)])
        result = parse_session(text)
        if not result.faults and not result.session.blocks:
            unanswered.append(text)
        if number % CHECKED_EVERY == 0 and not result.has_errors:
            assert decode_session(encode_session(result.session)) == result.session
    assert unanswered == []
