"""What must be said at once about a log, in the answer to the request that brought it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from coaching.screening.red_flags import RED_FLAGS
from logs.actions.log_fields import Item, Result
from logs.analysis.reported_signs import ImmediateCaution, PainReport, immediate_caution

_KEPT: Final[frozenset[Result]] = frozenset({"created", "unchanged", "corrected", "held"})


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution and the item that gave rise to it."""

    item: Item
    said: ImmediateCaution


def cautions_of(items: Iterable[Item]) -> list[Caution]:
    """Find the cautions of items, also of refused ones: what someone feels is not made well by a typing error.

    Of a report that no coach will see they say so; of a client who is unknown to the caller they name nothing.
    """
    cautions = []
    for item in items:
        fields = item.fields
        if not (fields.get("symptoms") or fields.get("pains")):
            continue
        said = immediate_caution(
            _known_codes(fields.get("symptoms")), _pains(item), stored=_is_kept(item), named=names_a_client(item)
        )
        if said is not None:
            cautions.append(Caution(item, said))
    return cautions


def beside_refusal(item: Item) -> dict[str, Any]:
    """Return what a refusal of one item must carry beside its faults: its cautions, or nothing."""
    cautions = [
        {"action": caution.said.action, "urgency": caution.said.urgency, "text": caution.said.sentence}
        for caution in cautions_of([item])
    ]
    return {"cautions": cautions} if cautions else {}


def names_a_client(item: Item) -> bool:
    """Say whether an item's client is one whose logs the caller may write."""
    return all(fault.field != "client" for fault in item.faults)


def _is_kept(item: Item) -> bool:
    return item.result in _KEPT and not item.superseded


def _known_codes(symptoms: Any) -> list[str]:
    if not isinstance(symptoms, list):
        return []
    return [code for code in symptoms if isinstance(code, str) and code in RED_FLAGS]


def _pains(item: Item) -> list[PainReport]:
    # A refused check-in may hold pains that can't be read; its symptoms are said all the same.
    if item.kind != "check_in" or (item.faults and not _readable(item.fields.get("pains"))):
        return []
    return [_report(item, index, pain) for index, pain in enumerate(item.fields["pains"])]


def _readable(pains: Any) -> bool:
    names = ("site", "score")
    top = 10
    return isinstance(pains, list) and all(
        isinstance(pain, dict)
        and all(name in pain for name in names)
        and isinstance(pain["site"], str)
        and type(pain["score"]) is int
        and 0 <= pain["score"] <= top
        for pain in pains
    )


def _report(item: Item, index: int, pain: dict[str, Any]) -> PainReport:
    return PainReport(
        identity=f"{item.external_id}:{index}",
        local_date=item.fields["local_date"] if isinstance(item.fields.get("local_date"), date) else date.min,
        site=pain["site"],
        side=str(pain.get("side") or ""),
        score=pain["score"],
        onset="new" if pain.get("onset") == "new" else "known",
        sharp=pain.get("sharp") is True,
    )
