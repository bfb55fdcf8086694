"""What people report of themselves and what must follow: red-flag symptoms and pain.

These flags are closed only by a person. What is urgent is said in the answer to the very request that reports it.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Final, Literal

from coaching.screening.red_flags import NOT_STORED, SEEN, Urgency, caution_for, most_urgent
from logs.analysis.constants import PAIN_TOP
from logs.analysis.readiness import Action, RuleState, Severity, evidence_token
from logs.analysis.references import PAIN_MONITORING

PainWhen = Literal["during", "after", "next_morning"]
Onset = Literal["new", "known"]

_NOT_A_DIAGNOSIS: Final = (
    "This is not a diagnosis. {} If it gets worse, or does not settle, have it seen by a clinician."
)

NOT_A_DIAGNOSIS: Final = _NOT_A_DIAGNOSIS.format(SEEN)
"""Said with every pain that was kept for a coach to see. Practice."""

NOT_A_DIAGNOSIS_NOT_STORED: Final = _NOT_A_DIAGNOSIS.format(NOT_STORED)
"""Said with a pain that no coach will see. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SymptomReport:
    """Red-flag symptoms on a log or check-in; `identity` names the report."""

    identity: str
    local_date: date
    codes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PainReport:
    """A pain on a check-in or log.

    Attributes:
        identity: Names the report, also apart from the other pains of one check-in.
        local_date: The local date it belongs to.
        site: Where, such as `shoulder`.
        side: `left`, `right`, `both`, or empty.
        score: 0 to 10.
        when: `during`, `after` or `next_morning`.
        onset: `new` or `known`.
        sharp: Whether it was said to be sharp.
        exercise: Key of the exercise it came with; empty for none.
    """

    identity: str
    local_date: date
    site: str
    score: int
    side: str = ""
    when: PainWhen = "during"
    onset: Onset = "known"
    sharp: bool = False
    exercise: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PainPolicy:
    """What a business may change about the pain rule."""

    stop_score: int = 6
    """At this score or above the movement stops. Practice."""

    hold_score: int = 3
    """From this score to the stop score loads do not rise. Practice, after the pain-monitoring model (limits from
    memory)."""

    rising_reports: int = 3
    """So many reports running, each above the one before, are a rise. Practice."""

    window_days: int = 14
    """Reports older than this, counted back from the latest of any site, are left to the flag they opened.
    Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ImmediateCaution:
    """What the answer to a report must say at once.

    Attributes:
        action: `stop_training`, `stop_movement` or `contact`.
        urgency: `emergency`, `same_day` or `stop_and_see`.
        sentence: Plain words for the person.
        codes: Red-flag symptoms in it.
        sites: Sites of pain in it.
    """

    action: Action
    urgency: Urgency
    sentence: str
    codes: tuple[str, ...] = ()
    sites: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Ground:
    report: PainReport
    action: Action
    words: str


_DEFAULT_PAIN = PainPolicy()
_PAIN_ACTIONS: tuple[Action, ...] = ("no_increase", "contact", "stop_movement")


def symptom_state(reports: Iterable[SymptomReport], settled: Collection[str] = ()) -> RuleState:
    """Say whether red-flag symptoms stop a person's training.

    Args:
        reports: Reports of the last days, in any order.
        settled: Evidence tokens of reports that a person has already resolved.

    Returns:
        The state, scope `all`; it holds for any report that is not settled.

    Raises:
        UnknownSymptomError: A code is not in the list.

    Source: as `coaching.screening.red_flags`.
    """
    open_reports = sorted(
        (report for report in reports if report.codes and evidence_token(report.identity) not in settled),
        key=lambda report: (report.local_date, report.identity),
    )
    rule = "Any red-flag symptom stops training until a person has cleared it up."
    if not open_reports:
        return RuleState(kind="symptom", holds=False, sentence="No red-flag symptom is open.", rule=rule)
    flags = most_urgent(code for report in open_reports for code in report.codes)
    words = "; ".join(flag.words for flag in flags)
    return RuleState(
        kind="symptom",
        holds=True,
        severity="stop",
        action="stop_training",
        sentence=f"Reported on {open_reports[-1].local_date}: {words}. Training stops until a person has seen to it.",
        figures={
            "symptoms": [flag.code for flag in flags],
            "urgency": flags[0].urgency,
            "last_reported_on": open_reports[-1].local_date.isoformat(),
        },
        rule=rule,
        source=flags[0].source,
        caution=caution_for(flag.code for flag in flags),
        evidence=tuple(evidence_token(report.identity) for report in open_reports),
    )


def pain_states(
    reports: Sequence[PainReport], policy: PainPolicy = _DEFAULT_PAIN, settled: Collection[str] = ()
) -> list[RuleState]:
    """Say what each painful site asks for.

    Args:
        reports: Reports of the last days, in any order.
        policy: What the business may change.
        settled: Evidence tokens of reports that a person has already resolved.

    Returns:
        One state per site and side, in the order of the alphabet. The strongest ground of the window decides, so that
        a bad report and a better one that arrive together still open the flag. At 0 to 2 nothing holds; the state's
        sentence notes it.

    Raises:
        ValueError: A score is outside 0 to 10.

    Source: after Silbernagel et al. 2007, whose limits are from memory; thresholds are practice.
    """
    by_region: defaultdict[str, list[PainReport]] = defaultdict(list)
    for report in sorted(reports, key=_told_order):
        _check_score(report)
        by_region[_region(report)].append(report)
    latest = max((report.local_date for report in reports), default=None)
    states = []
    for region, told in sorted(by_region.items()):
        recent = [report for report in told if latest and (latest - report.local_date).days <= policy.window_days]
        grounds = [one for one in _grounds(recent, policy) if evidence_token(one.report.identity) not in settled]
        states.append(_pain_state(region, told[-1], grounds, policy))
    return states


def immediate_caution(
    symptoms: Iterable[str],
    pains: Iterable[PainReport],
    policy: PainPolicy = _DEFAULT_PAIN,
    *,
    stored: bool = True,
    named: bool = True,
) -> ImmediateCaution | None:
    """Write what the answer to a report must say at once, waiting for no job.

    Args:
        symptoms: Red-flag symptom codes of the report.
        pains: Pains of the report.
        policy: What the business may change.
        stored: Whether the report was kept for a coach to see; if not, the caution says so.
        named: Whether the caution repeats what was reported.

    Returns:
        The caution, symptoms before pain; None when nothing in the report asks for one.

    Raises:
        UnknownSymptomError: A code is not in the list.
        ValueError: A score is outside 0 to 10.

    Source: as `coaching.screening.red_flags`; pain thresholds are practice.
    """
    flags = most_urgent(symptoms)
    grounds = [ground for report in pains for ground in _own_grounds(report, policy) if ground.action != "no_increase"]
    if not flags and not grounds:
        return None
    codes = tuple(flag.code for flag in flags)
    sites = tuple(dict.fromkeys(_site_words(ground.report) for ground in grounds))
    return ImmediateCaution(
        action="stop_training" if flags else _strongest(grounds).action,
        urgency=flags[0].urgency if flags else "stop_and_see",
        sentence=" ".join(
            part
            for part in (
                caution_for(codes, stored=stored, named=named),
                _pain_words(grounds, stored=stored, named=named),
            )
            if part
        ),
        codes=codes if named else (),
        sites=sites if named else (),
    )


def _told_order(report: PainReport) -> tuple[date, int, str]:
    """The next morning's word comes before what that day's own training brings."""
    return report.local_date, ("next_morning", "during", "after").index(report.when), report.identity


def _check_score(report: PainReport) -> None:
    if report.score not in range(PAIN_TOP + 1):
        raise ValueError(f"A pain score is a whole number from 0 to 10, not {report.score}.")


def _region(report: PainReport) -> str:
    return f"region:{report.site}" + (f":{report.side}" if report.side else "")


def _site_words(report: PainReport) -> str:
    return f"{report.side} {report.site}".strip()


def _own_grounds(report: PainReport, policy: PainPolicy) -> list[_Ground]:
    """Find the grounds that one report gives by itself."""
    _check_score(report)
    grounds = []
    if report.score >= policy.stop_score:
        grounds.append(_Ground(report, "stop_movement", f"{report.score} of 10"))
    elif report.score >= policy.hold_score:
        grounds.append(_Ground(report, "no_increase", f"{report.score} of 10"))
    if report.onset == "new" and report.sharp and report.score:
        grounds.append(_Ground(report, "contact", "new and sharp"))
    return grounds


def _grounds(reports: Sequence[PainReport], policy: PainPolicy) -> list[_Ground]:
    grounds = [ground for report in reports for ground in _own_grounds(report, policy)]
    for index, report in enumerate(reports):
        run = reports[max(0, index + 1 - policy.rising_reports) : index + 1]
        rises = all(later.score > earlier.score for earlier, later in pairwise(run))
        if len(run) == policy.rising_reports and rises:
            grounds.append(_Ground(report, "no_increase", f"risen over {policy.rising_reports} reports"))
        if report.when == "next_morning" and _worse_than_before(report, reports):
            grounds.append(_Ground(report, "no_increase", "worse the next morning"))
    return grounds


def _worse_than_before(morning: PainReport, reports: Sequence[PainReport]) -> bool:
    before = [one.score for one in reports if one.when != "next_morning" and one.local_date < morning.local_date]
    return bool(before) and morning.score > before[-1]


def _strongest(grounds: Sequence[_Ground]) -> _Ground:
    return max(grounds, key=lambda ground: (_PAIN_ACTIONS.index(ground.action), ground.report.local_date))


def _pain_words(grounds: Sequence[_Ground], *, stored: bool, named: bool) -> str:
    if not grounds:
        return ""
    sites = " and ".join(dict.fromkeys(_site_words(ground.report) for ground in grounds))
    if _strongest(grounds).action == "stop_movement":
        todo = "Stop the movements that bring it on and have it assessed before you load them again."
    else:
        todo = "Leave out what brings it on and speak to your coach before the next session."
    reported = f"You reported pain in the {sites}. " if named else ""
    return f"{reported}{todo} {NOT_A_DIAGNOSIS if stored else NOT_A_DIAGNOSIS_NOT_STORED}"


def _pain_state(region: str, last: PainReport, grounds: Sequence[_Ground], policy: PainPolicy) -> RuleState:
    rule = (
        f"{policy.stop_score} or more stops the movement; {policy.hold_score} to {policy.stop_score - 1}, a rise over "
        f"{policy.rising_reports} reports, or worse the next morning: no increase; new and sharp: contact."
    )
    where = _site_words(last)
    if not grounds:
        noted = f"Noted: {where}, {last.score} of 10 on {last.local_date}."
        return RuleState(kind="pain", scope=region, holds=False, severity="note", sentence=noted, rule=rule)
    worst = _strongest(grounds)
    severity: Severity = "stop" if worst.action == "stop_movement" else "watch"
    return RuleState(
        kind="pain",
        scope=region,
        holds=True,
        severity=severity,
        action=worst.action,
        sentence=f"Pain in the {where}: {worst.words} on {worst.report.local_date}; last {last.score} of 10.",
        figures={
            "worst_score": max(ground.report.score for ground in grounds),
            "last_score": last.score,
            "last_reported_on": last.local_date.isoformat(),
            "grounds": sorted({ground.words for ground in grounds}),
            "exercises": sorted({ground.report.exercise for ground in grounds if ground.report.exercise}),
        },
        rule=rule,
        source=PAIN_MONITORING,
        caution=NOT_A_DIAGNOSIS,
        evidence=tuple(dict.fromkeys(evidence_token(ground.report.identity) for ground in grounds)),
    )
