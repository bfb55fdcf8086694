"""Sessions of every form that the document admits, for the tests of the notation."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import strategies as st

from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    PercentLoad,
    RelativeToTopLoad,
    SameAsLoad,
)
from programs.prescription.structure import Block, Entry, Segment, Session, SetGroup, Slot
from programs.prescription.tempo import Tempo
from programs.prescription.vocabulary import (
    BLOCK_KINDS,
    GOALS,
    LISTED_ROUND_KINDS,
    REFERENCES,
    SET_KINDS,
    TOP_SET_KINDS,
)

ANY_TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), min_size=1, max_size=20)
SAID = st.one_of(
    ANY_TEXT,
    st.sampled_from(
        ["Lower A", '"quoted"', "# hash", "-- dashes", " edges ", "two\nlines", "\\", "a\u2028b", "“curly”", "{}"]
    ),
)
EXERCISES = st.one_of(
    st.sampled_from(
        ["bench-press", "pull-up", "drop", "rest", "hold", "ramp", "12-min", "band", "row", "max", "m", "each", "x",
         "Bench Press", "0190a7c4-7b6e-7000-8000-000000000001", "steady", "amrap", "side-plank", "test", "on", "rpe"]
    ),
    ANY_TEXT,
)  # fmt: skip
KEYS = st.one_of(
    st.from_regex(r"\A[A-C][1-4]?\Z"),
    st.from_regex(r"\A[A-Za-z0-9][A-Za-z0-9._-]{0,6}\Z"),
)
LABELS = st.one_of(st.sampled_from(["", "A", "B", "C", "1", "AB1"]), ANY_TEXT)


def decimals(low, high, places=2):
    return st.decimals(Decimal(low), Decimal(high), places=places, allow_nan=False, allow_infinity=False)


@st.composite
def tempos(draw):
    seconds = st.integers(0, 60)
    letter = draw(st.sampled_from(["", "", "X", "A"]))
    return Tempo(
        eccentric_s=draw(seconds),
        lengthened_s=draw(seconds),
        concentric_s=0 if letter else draw(seconds),
        shortened_s=draw(seconds),
        explosive=letter == "X",
        assisted=letter == "A",
    )


@st.composite
def loads(draw, earlier, after_top):
    forms = [
        st.builds(AbsoluteLoad, value=decimals(-200, 1000), unit=st.just("kg")),
        st.builds(AbsoluteLoad, value=decimals(-440, 2200), unit=st.just("lb")),
        st.just(BodyweightLoad()),
        st.builds(PercentLoad, of=st.sampled_from(REFERENCES), pct=decimals(1, 150, places=6)),
        st.builds(BandLoad, text=SAID),
    ]
    if earlier:
        forms.append(st.builds(SameAsLoad, slot_key=st.sampled_from(earlier)))
    if after_top:
        forms.append(st.builds(RelativeToTopLoad, pct=decimals(-90, 20)))
    return draw(st.one_of(forms))


@st.composite
def segments(draw):
    def one(first):
        to_limit = draw(st.booleans())
        return Segment(
            reps=draw(st.none() | st.integers(1, 500)) if to_limit else draw(st.integers(1, 500)),
            to_limit=to_limit,
            rest_before_s=0 if first else draw(st.sampled_from([0, 0, 20, 95, 1800])),
            load_change_pct=None if first else draw(st.none() | decimals(-90, 20)),
        )

    if draw(st.booleans()):
        rest_s = draw(st.integers(0, 60))
        reps = draw(st.lists(st.integers(1, 9), min_size=2, max_size=5))
        return tuple(Segment(reps=number, rest_before_s=rest_s if place else 0) for place, number in enumerate(reps))
    return tuple(one(place == 0) for place in range(draw(st.integers(2, 5))))


MEASURES = {
    "reps": st.integers(1, 500).flatmap(
        lambda low: st.fixed_dictionaries({"reps_low": st.just(low), "reps_high": st.none() | st.integers(low, 500)})
    ),
    "time": st.fixed_dictionaries({"duration_s": st.integers(1, 14_400)}),
    "distance": st.fixed_dictionaries({"distance_m": decimals("0.000001", 100_000, places=6)}),
    "calories": st.fixed_dictionaries({"calories_kcal": st.integers(1, 2000)}),
    "segments": st.fixed_dictionaries({"segments": segments()}),
    "limit": st.just({"to_limit": True}),
    "none": st.just({}),
}
HALVES = st.integers(2, 20).map(lambda halves: Decimal(halves) / 2)


def efforts(to_limit):
    rpe = st.just(Decimal(10)) if to_limit else HALVES
    in_reserve = st.just(Decimal(0)) if to_limit else HALVES
    return st.one_of(
        st.just({}), st.fixed_dictionaries({"rpe": rpe}), st.fixed_dictionaries({"in_reserve": in_reserve})
    )


@st.composite
def set_groups(draw, *, earlier, after_top, timed, in_rounds):
    measure = draw(st.sampled_from([name for name in MEASURES if timed or name != "none"]))
    fields = {"count": 1 if in_rounds else draw(st.integers(1, 20)), **draw(MEASURES[measure])}
    fields["kind"] = draw(st.just("work") | st.sampled_from(SET_KINDS))
    if measure in ("reps", "time", "distance", "calories"):
        fields["to_limit"] = draw(st.integers(0, 3)) == 0
    if measure not in ("time", "distance", "calories"):
        fields["tempo"] = draw(st.none() | tempos())
    return SetGroup(
        **fields,
        **draw(efforts(fields.get("to_limit", False))),
        load=draw(st.none() | loads(earlier, after_top)),
    )


@st.composite
def ladders(draw, rounds, *, earlier):
    """A set for each of a block's rounds, which often differ in their repetitions alone."""
    first = draw(set_groups(earlier=earlier, after_top=False, timed=False, in_rounds=True))
    if draw(st.booleans()) and first.reps_low is not None and not first.to_limit:
        first = replace(first, reps_high=None, kind="work")
        return [replace(first, reps_low=draw(st.integers(1, 500))) for _ in range(rounds)]
    further = set_groups(earlier=earlier, after_top=False, timed=False, in_rounds=True)
    return [first, *(draw(further) for _ in range(rounds - 1))]


@st.composite
def slots(draw, key, *, earlier, timed, in_rounds, rounds=None):
    groups = []
    if rounds is not None and 1 < rounds <= 6 and draw(st.booleans()):
        groups = draw(ladders(rounds, earlier=earlier))
    for _ in range(0) if groups else range(draw(st.integers(0 if timed else 1, 1 if in_rounds else 3))):
        after_top = any(group.kind in TOP_SET_KINDS for group in groups)
        groups.append(draw(set_groups(earlier=earlier, after_top=after_top, timed=timed, in_rounds=in_rounds)))
    return Slot(
        slot_key=key,
        exercise=draw(EXERCISES),
        goal=draw(st.none() | st.sampled_from(GOALS)),
        per_side=draw(st.booleans()),
        rest_s=draw(st.none() | st.integers(0, 1800)),
        notes=draw(st.one_of(st.just(""), st.just(""), SAID)),
        sets=tuple(groups),
    )


@st.composite
def entries(draw):
    measure = draw(st.sampled_from(["duration_s", "distance_m", "calories_kcal"]))
    amounts = {
        "duration_s": st.integers(1, 14_400),
        "distance_m": decimals("0.01", 100_000),
        "calories_kcal": st.integers(1, 2000),
    }
    return Entry(exercise=draw(EXERCISES), **{measure: draw(amounts[measure])})


MINUTES = st.integers(1, 360)
ROUNDS = st.integers(1, 12)
RESTS = st.integers(0, 1800)
TIMINGS = {
    "straight": {"cap_min": st.none() | MINUTES},
    "paired": {"cap_min": st.none() | MINUTES, "rest_between_rounds_s": st.none() | RESTS},
    "circuit": {
        "rounds": st.none() | ROUNDS,
        "entry": st.none() | entries(),
        "cap_min": st.none() | MINUTES,
        "rest_between_rounds_s": st.none() | RESTS,
    },
    "interval": {
        "rounds": ROUNDS,
        "work_s": st.integers(1, 14_400),
        "off_s": st.integers(0, 1800),
        "entry": st.none() | entries(),
        "cap_min": st.none() | MINUTES,
        "rest_between_rounds_s": st.none() | RESTS,
    },
    "rounds_for_time": {
        "rounds": ROUNDS,
        "entry": st.none() | entries(),
        "cap_min": st.none() | MINUTES,
        "rest_between_rounds_s": st.none() | RESTS,
    },
    "max_rounds": {"minutes": MINUTES, "entry": st.none() | entries(), "rest_between_rounds_s": st.none() | RESTS},
    "every_minute": {"entry": st.none() | entries()},
    "steady": {"minutes": st.none() | MINUTES, "cap_min": st.none() | MINUTES},
}
SIZES = {"straight": (1, 1), "paired": (2, 4), "circuit": (2, 6), "steady": (1, 1)}


@st.composite
def blocks(draw, taken):
    kind = draw(st.sampled_from(BLOCK_KINDS))
    timing = {name: draw(values) for name, values in TIMINGS[kind].items()}
    if kind == "every_minute":
        timing[draw(st.sampled_from(["minutes", "rounds"]))] = draw(ROUNDS)
        if draw(st.booleans()):
            whole = st.sampled_from([10, 20, 30, 60]) if "minutes" in timing else st.integers(10, 3600)
            timing["every_s"] = draw(whole)
    label = draw(LABELS)
    in_rounds = kind not in ("straight", "paired", "circuit") or timing.get("rounds") is not None
    timed = kind == "interval" or (kind == "steady" and timing["minutes"] is not None)
    members = []
    for number in range(1, draw(st.integers(*SIZES.get(kind, (1, 4)))) + 1):
        usual = f"{label}{number}"
        key = usual if label in ("A", "B", "C") and usual not in taken and draw(st.booleans()) else None
        key = key or draw(KEYS.filter(lambda text: text not in taken))
        rounds = timing.get("rounds") if kind in LISTED_ROUND_KINDS else None
        members.append(draw(slots(key, earlier=sorted(taken), timed=timed, in_rounds=in_rounds, rounds=rounds)))
        taken.add(key)
    return Block(kind=kind, label=label[:20], slots=tuple(members), **timing)


def sets_asked(session):
    return sum((block.rounds or 1) * slot.set_count for block in session.blocks for slot in block.slots)


def sessions():
    return any_sessions().filter(lambda session: sets_asked(session) <= 400)


@st.composite
def any_sessions(draw):
    taken = set()
    return Session(
        title=draw(st.one_of(st.just(""), SAID)),
        template_key=draw(st.sampled_from(["session", "lower-a", "7"])),
        cap_min=draw(st.none() | MINUTES),
        blocks=tuple(draw(blocks(taken)) for _ in range(draw(st.integers(1, 4)))),
    )
