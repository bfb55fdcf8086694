"""The beat, as data: a few UTC intervals, each message expiring with its interval.

Everything due is a row with an instant; nothing lives in a broker's countdown. So a beat that runs
twice, or not at all for an hour, does no harm.
"""

from typing import Any, Final

DISPATCH_S: Final = 2
EXPORT_S: Final = 2
TICK_S: Final = 30
RECONCILE_S: Final = 86_400

BEAT_SCHEDULE: Final[dict[str, dict[str, Any]]] = {
    "dispatch": {
        "task": "coaching.dispatch",
        "schedule": DISPATCH_S,
        "options": {"expires": DISPATCH_S},
    },
    "export": {"task": "coaching.export", "schedule": EXPORT_S, "options": {"expires": EXPORT_S}},
    "tick": {"task": "coaching.tick", "schedule": TICK_S, "options": {"expires": TICK_S}},
    "reconcile": {
        "task": "coaching.reconcile",
        "schedule": RECONCILE_S,
        "options": {"expires": RECONCILE_S},
    },
}
