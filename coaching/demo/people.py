"""The invented people of the demo, and the truth about each: what the service must find, and nothing else."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from coaching.demo.programs import DUMBBELLS, GYM, HOME

BUSINESS: Final = "Quillhaven Strength Studio"
PASSWORD: Final = "seven-lanterns-by-the-weir"  # noqa: S105 — printed by the demo; guards invented data on loopback
APP_SOURCE: Final = "quillhaven-floor-app"


class Story(StrEnum):
    """What is true of a client over the twelve weeks."""

    IMPROVES = "improves"
    STALLS = "stalls"
    STEADY = "steady"
    LOAD_JUMP = "jumps in load"
    GOES_QUIET = "goes quiet"
    MISSES_TWO = "misses two"
    HOLIDAY = "on holiday"
    FLOATING = "floating days"
    PAIN_STRONG = "strong pain"
    PAIN_MILD = "some pain"
    RED_FLAG = "chest pain"
    KEEPS_TEMPO = "measured, keeps the tempo"
    RUSHES_TEMPO = "measured, rushes more each week"


EXPECTED_FLAGS: Final[dict[Story, frozenset[str]]] = {
    Story.IMPROVES: frozenset(),
    Story.STALLS: frozenset(),
    Story.STEADY: frozenset(),
    Story.LOAD_JUMP: frozenset({"load_jump"}),
    Story.GOES_QUIET: frozenset({"gone_quiet", "missed_in_a_row"}),
    Story.MISSES_TWO: frozenset({"missed_in_a_row"}),
    Story.HOLIDAY: frozenset(),
    Story.FLOATING: frozenset(),
    Story.PAIN_STRONG: frozenset({"pain"}),
    Story.PAIN_MILD: frozenset({"pain"}),
    Story.RED_FLAG: frozenset({"symptom"}),
    Story.KEEPS_TEMPO: frozenset(),
    # By the twelfth week half of each eccentric is missing.
    Story.RUSHES_TEMPO: frozenset({"tempo_faults"}),
}
"""The flags that must stand for each story at the end of the twelve weeks."""


@dataclass(frozen=True, slots=True)
class CoachProfile:
    """A coach of the demo; three zones eight hours apart, so that it is past seven in at least two."""

    name: str
    email: str
    role: str
    zone: str


@dataclass(frozen=True, slots=True)
class ClientProfile:
    """A client of the demo. `strength` scales every load; weekdays count from Monday as 0."""

    name: str
    coach: str
    zone: str
    unit: str
    variant: str
    weekdays: tuple[int, ...]
    story: Story
    strength: float

    @property
    def slug(self) -> str:
        """The name as addresses and external ids spell it."""
        return self.name.lower().replace(" ", "-")

    @property
    def email(self) -> str:
        """An address that no mail server of the world receives."""
        return f"{self.slug}@quillhaven.example"


COACHES: Final = (
    CoachProfile("Marit Oduya", "marit@quillhaven.example", "owner", "Pacific/Auckland"),
    CoachProfile("Teo Lindqvist", "teo@quillhaven.example", "head_coach", "Europe/Lisbon"),
    CoachProfile("Priya Castellan", "priya@quillhaven.example", "coach", "America/Vancouver"),
)

_MWF, _TTS, _MT, _WS = (0, 2, 4), (1, 3, 5), (0, 3), (2, 5)


def _clients(coach: int, rows: str) -> tuple[ClientProfile, ...]:
    variants = {"gym": GYM, "dumbbells": DUMBBELLS, "home": HOME}
    weekdays = {"mwf": _MWF, "tts": _TTS, "mt": _MT, "ws": _WS, "any": ()}
    people = []
    for line in rows.strip().splitlines():
        name, zone, unit, variant, days, strength, story = (part.strip() for part in line.split("|"))
        people.append(
            ClientProfile(
                name=name,
                coach=COACHES[coach].email,
                zone=zone,
                unit=unit,
                variant=variants[variant],
                weekdays=weekdays[days],
                story=Story[story.upper()],
                strength=float(strength),
            )
        )
    return tuple(people)


CLIENTS: Final = (
    *_clients(
        0,
        """
        Anouk Fairweather | Pacific/Auckland   | kg | gym       | mwf | 1.00 | improves
        Bram Okonjo       | Pacific/Auckland   | kg | gym       | tts | 1.15 | stalls
        Cilla Vantongeren | Australia/Adelaide | kg | gym       | mwf | 0.70 | steady
        Dov Marchetti     | Australia/Adelaide | kg | dumbbells | mt  | 0.95 | load_jump
        Edda Salonen      | Pacific/Chatham    | kg | gym       | tts | 0.80 | goes_quiet
        Farid Nakamoto    | Pacific/Auckland   | kg | home      | any | 0.90 | floating
        Greta Olumide     | Australia/Lord_Howe| kg | gym       | mwf | 0.75 | holiday
        Hamish Quist      | Pacific/Auckland   | kg | dumbbells | ws  | 1.05 | improves
        Ines Barraclough  | Pacific/Auckland   | kg | gym       | mwf | 0.85 | pain_strong
        Jorn Adeyemi      | Asia/Tokyo         | kg | gym       | tts | 1.10 | improves
        Kaia Pellerin     | Pacific/Apia       | kg | home      | mwf | 0.65 | steady
        Laszlo Wren       | Australia/Perth    | kg | dumbbells | mt  | 1.00 | steady
        """,
    ),
    *_clients(
        1,
        """
        Mirela Stonebridge| Europe/Lisbon      | kg | gym       | mwf | 0.80 | improves
        Nico Arrowsmith   | Europe/Warsaw      | kg | gym       | tts | 1.20 | stalls
        Oona Fitzgibbon   | Europe/Dublin      | kg | gym       | mwf | 0.72 | load_jump
        Pavel Idris       | Africa/Nairobi     | kg | dumbbells | mt  | 1.00 | misses_two
        Quirin Hale       | Europe/Warsaw      | kg | gym       | tts | 1.05 | goes_quiet
        Runa Castellanos  | Atlantic/Azores    | kg | home      | any | 0.70 | floating
        Sten Achterberg   | Europe/Lisbon      | kg | gym       | mwf | 1.10 | keeps_tempo
        Tamsin Oyelaran   | Europe/Lisbon      | kg | dumbbells | ws  | 0.68 | improves
        Ulf Penhaligon    | Asia/Kathmandu     | kg | gym       | mwf | 0.98 | improves
        Vesna Rookwood    | Europe/Warsaw      | kg | gym       | tts | 0.77 | red_flag
        Wim Delacroix     | Europe/Lisbon      | kg | dumbbells | mt  | 1.02 | stalls
        Xenia Thorburn    | Africa/Casablanca  | kg | gym       | mwf | 0.74 | rushes_tempo
        """,
    ),
    *_clients(
        2,
        """
        Yusuf Lindgren    | America/Vancouver  | lb | gym       | mwf | 1.12 | improves
        Zelda Marrow      | America/Chicago    | lb | gym       | tts | 0.78 | stalls
        Ambrose Kito      | America/Chicago    | lb | gym       | mwf | 1.08 | goes_quiet
        Beatrix Solheim   | America/St_Johns   | lb | dumbbells | mt  | 0.71 | load_jump
        Cosmo Hathaway    | America/Vancouver  | lb | gym       | tts | 1.00 | misses_two
        Delphine Arkwright| America/Sao_Paulo  | kg | home      | any | 0.66 | floating
        Elias Broadmoor   | America/Vancouver  | lb | gym       | mwf | 1.18 | improves
        Freya Nwosu       | America/Denver     | lb | dumbbells | ws  | 0.69 | pain_mild
        Gustav Ellery     | America/Phoenix    | lb | gym       | mwf | 0.97 | steady
        Hana Whitlock     | Pacific/Honolulu   | lb | gym       | tts | 0.73 | improves
        Ivo Castlegate    | America/Vancouver  | lb | home      | mwf | 0.88 | stalls
        Juno Abernathy    | America/Halifax    | kg | gym       | mwf | 0.81 | holiday
        """,
    ),
)
"""Thirty-six clients, twelve to a coach."""
