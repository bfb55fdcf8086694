"""What is read of conditioning blocks, and heart-rate targets, as plain JSON values."""

from decimal import Decimal
from typing import Any

from programs.prescription.conditioning import Conditioning
from programs.prescription.energy_systems import TABLE_SOURCE, WorkRest
from programs.prescription.heart_rate import HeartRateTargets, NoHeartRateTargets


def conditioning_as_document(piece: Conditioning) -> dict[str, Any]:
    """Write one conditioning block for the API."""
    return {
        "block_index": piece.block_index,
        "kind": piece.kind,
        "label": piece.label,
        "low_s": piece.low_s,
        "high_s": piece.high_s,
        "rounds_low": piece.rounds_low,
        "rounds_high": piece.rounds_high,
        "round_low_s": piece.round_low_s,
        "round_high_s": piece.round_high_s,
        "slow_share_ratio": _number(piece.slow_share_ratio),
        "work_rest": [_work_rest(item) for item in piece.work_rest],
        "brakes": [{"kind": brake.kind, "detail": brake.detail} for brake in piece.brakes],
        "safe_tired": piece.safe_tired,
        "rowing": [
            {"slot_key": row.slot_key, "split_s": _number(row.split_s), "power_w": _number(row.power_w)}
            for row in piece.rowing
        ],
    }


def heart_rate_as_document(targets: HeartRateTargets | NoHeartRateTargets) -> dict[str, Any]:
    """Write heart-rate targets for the API, or why there are none."""
    if isinstance(targets, NoHeartRateTargets):
        return {"bands": [], "reason": targets.reason, "instead": targets.instead}
    return {
        "bands": [
            {
                "intensity": band.intensity,
                "low_pct": band.low_pct,
                "high_pct": band.high_pct,
                "low_bpm": band.low_bpm,
                "high_bpm": band.high_bpm,
            }
            for band in targets.bands
        ],
        "max_bpm": targets.max_bpm,
        "max_from": targets.max_from,
        "error_bpm": targets.error_bpm,
        "resting_bpm": targets.resting_bpm,
        "source": targets.source,
        "caution": targets.caution,
    }


def _work_rest(item: WorkRest) -> dict[str, Any]:
    return {
        "slot_key": item.slot_key,
        "work_s": item.work_s,
        "rest_s": item.rest_s,
        "rest_ratio": _number(item.rest_ratio),
        "energy_system": None if item.row is None else item.row.system,
        "verdict": item.verdict,
        "published_rest_low_s": item.published_low_s,
        "published_rest_high_s": item.published_high_s,
        "reason": item.reason,
        "source": TABLE_SOURCE,
    }


def _number(value: Decimal | None) -> float | int | None:
    if value is None:
        return None
    return int(value) if value == value.to_integral_value() else float(value)
