"""The lines of a card that say whose it is, when it is done and how long it takes."""

from datetime import date

from programs.documents.session_card import SessionCard


def when_words(card: SessionCard) -> str:
    """Say on which day, or in which days, a session is done."""
    if card.window_start == card.window_end:
        return _day(card.local_date)
    return f"{_day(card.window_start)} to {_day(card.window_end)}"


def place_words(card: SessionCard) -> str:
    """Say where a session stands in its program."""
    return f"Week {card.week_number}, day {card.day_number}{', a lighter week' if card.deload else ''}"


def length_words(card: SessionCard) -> str:
    """Say how long a session takes, in whole minutes."""
    low, high = round(card.timeline.low_min), round(card.timeline.high_min)
    taken = f"about {low} min" if low == high else f"about {low} to {high} min"
    return taken if card.cap_min is None else f"{taken}; stop at {card.cap_min} min"


def pace_words(card: SessionCard) -> str:
    """Say how long it takes at the client's usual pace; empty while there is none."""
    said = card.pace.at_pace
    return said[:1].upper() + said[1:]


def state_words(card: SessionCard) -> str:
    """Say what became of a session that is no longer to be done; empty for one that is."""
    words = {
        "started": "Started",
        "done": "Done",
        "part_done": "Partly done",
        "done_late": "Done late",
        "missed": "Missed",
        "excused": "Excused: it need not be done",
        "paused": "Paused: it need not be done now",
    }
    return words.get(card.state, "")


def file_name(card: SessionCard) -> str:
    """Name a file of the card, in plain letters."""
    return f"session-{card.local_date.isoformat()}.pdf"


def _day(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B %Y}"
