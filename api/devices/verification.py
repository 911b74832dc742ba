"""What a power verification says: the ratio of measured to expected power, and the verdict. Pure.

Decimal arithmetic throughout: a ratio that lies exactly on a limit must not fall on either side
by the way a binary fraction rounds.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, InvalidOperation

from api.errors import BadInput

# 21 CFR 1040.11(a) asks 20 % of a medical laser's own power indication (read in secondary copies).
FAIL_ABOVE = Decimal("0.20")
# The house's own choice.
WARN_ABOVE = Decimal("0.10")
RULE = "fail above 0.20 with uncertainty, warn above 0.10"

OK, WARN, FAIL = "ok", "warn", "fail"
_SEVERITY = (OK, WARN, FAIL)

LEAST_SETTINGS = 2
LEAST_READINGS = 3
_DIGITS = Context(prec=28)
_FOUR_PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Verification:
    """A verification worked out: pure numbers as decimals.

    ``ratio``: mean of the settings' ratios. ``ratio_uncertainty``: relative standard uncertainty of
    it, k = 1. ``setting_ratios`` in the order of the readings. ``remarks``: what falls short of the
    house's rule for a check, as codes.
    """

    ratio: Decimal
    ratio_uncertainty: Decimal
    setting_ratios: tuple[Decimal, ...]
    verdict: str
    remarks: tuple[str, ...]


def judge(*, ratio: Decimal | str, meter_uncertainty: Decimal | str) -> str:
    """Return ``ok``, ``warn`` or ``fail`` for a measured ratio, with the guard band.

    ``ratio``: mean measured / average power that the settings mean [1]. ``meter_uncertainty``:
    relative uncertainty of the meter, k = 2 [1]. With e = abs(ratio - 1) + meter_uncertainty:
    fail if e > 0.20, warn if e > 0.10, else ok; exactly on a limit is still the milder verdict.
    Raises ``BadInput`` for what is no number, a negative uncertainty or a ratio below 0.
    """
    measured = _number(ratio, "ratio")
    uncertainty = _number(meter_uncertainty, "meter_uncertainty")
    error = abs(measured - 1) + uncertainty
    if error > FAIL_ABOVE:
        return FAIL
    return WARN if error > WARN_ABOVE else OK


def worst(verdicts: Iterable[str]) -> str:
    """Return the most severe of ``verdicts``; ``ok`` for none."""
    return max(verdicts, key=_SEVERITY.index, default=OK)


def work_out(
    *, readings_w: Sequence[tuple[Decimal, Sequence[Decimal]]], meter_uncertainty: Decimal | str
) -> Verification:
    """Work out a verification from its readings.

    ``readings_w``: for each setting the expected average power [W] and the measured powers [W].
    ``meter_uncertainty``: relative, k = 2 [1]. Each setting is judged, and so is their mean; the
    worst verdict stands. Uncertainty of the ratio: the meter's, halved to k = 1, and the standard
    error of each setting's mean, added in quadrature. Raises ``BadInput`` without readings or with
    an expected power that is not above 0.
    """
    if not readings_w or any(not measured for _, measured in readings_w):
        raise BadInput("no_readings", "A verification needs readings.", field="readings")
    ratios = []
    spread_squared = Decimal(0)
    for expected, measured in readings_w:
        if expected <= 0:
            raise BadInput(
                "expected_power", "The expected power must be above 0.", field="readings"
            )
        mean = _DIGITS.divide(sum(measured, Decimal(0)), Decimal(len(measured)))
        ratios.append(_DIGITS.divide(mean, expected))
        spread_squared += _error_of_mean_squared(mean, measured)
    count = Decimal(len(ratios))
    ratio = _DIGITS.divide(sum(ratios, Decimal(0)), count)
    meter = _number(meter_uncertainty, "meter_uncertainty")
    uncertainty = ((meter / 2) ** 2 + spread_squared / count**2).sqrt(_DIGITS)
    verdicts = [judge(ratio=one, meter_uncertainty=meter) for one in (*ratios, ratio)]
    return Verification(
        ratio=ratio.quantize(_FOUR_PLACES),
        ratio_uncertainty=uncertainty.quantize(_FOUR_PLACES),
        setting_ratios=tuple(one.quantize(_FOUR_PLACES) for one in ratios),
        verdict=worst(verdicts),
        remarks=remarks([len(measured) for _, measured in readings_w]),
    )


def same_ratio(*, stated: str, worked_out: Decimal) -> bool:
    """Return whether a stated ratio is the worked-out one, rounded to the digits it states.

    ``stated``: decimal text [1]. ``worked_out``: ratio to four places [1]. Raises ``BadInput``
    for what is no number.
    """
    said = _number(stated, "ratio")
    last_digit = Decimal(1).scaleb(int(said.as_tuple().exponent))
    # At most one per cent: a ratio stated as "1" would else stand for anything from 0.5 to 1.5.
    return abs(said - worked_out) <= min(last_digit / 2, Decimal("0.005")) + _FOUR_PLACES


def remarks(readings_per_setting: Sequence[int]) -> tuple[str, ...]:
    """Return in what the amount of readings falls short of the house's rule, as codes."""
    found = []
    if len(readings_per_setting) < LEAST_SETTINGS:
        found.append("too_few_settings")
    if any(count < LEAST_READINGS for count in readings_per_setting):
        found.append("too_few_readings")
    return tuple(found)


def latest_verification(
    verifications: Iterable[Mapping], *, device_id: str, handpiece_id: str, mode: str
) -> Mapping | None:
    """Return the most recent verification document for just this device, handpiece and mode.

    A failed one is returned too: after it, no earlier success counts. Documents are those of
    ``devices.project``; the latest moment of checking wins, then the higher id.
    """
    fitting = [
        one
        for one in verifications
        if one["device_id"] == device_id
        and one["handpiece_id"] == handpiece_id
        and one["mode"] == mode
    ]
    return max(fitting, key=lambda one: (one["verified_utc"], one["event_id"]), default=None)


def feeds_dose(verification: Mapping | None) -> bool:
    """Return whether a verification may feed the delivered dose: a failed one never does."""
    return verification is not None and verification["verdict"] in (OK, WARN)


def _error_of_mean_squared(mean: Decimal, measured: Sequence[Decimal]) -> Decimal:
    """Relative variance of the mean of readings; one reading alone says nothing about spread."""
    count = len(measured)
    if count < 2 or mean == 0:
        return Decimal(0)
    variance = sum(((one - mean) ** 2 for one in measured), Decimal(0)) / (count - 1)
    return variance / count / mean**2


def _number(value: Decimal | str, name: str) -> Decimal:
    try:
        number = Decimal(value)
    except (InvalidOperation, TypeError, ValueError):
        raise BadInput("not_a_number", f"{name} must be a decimal number.", field=name) from None
    if not number.is_finite() or number < 0:
        raise BadInput("out_of_range", f"{name} must be 0 or more.", field=name)
    return number
