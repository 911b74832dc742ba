"""Which part of the set power arrives: the verified ratio where it exists, else the design."""

from collections.abc import Mapping

from api.dose import delivery
from api.dose.schema import CHAIN
from api.dose.steps import Result

VERIFIED, DESIGN = "verified", "design"
Delivery = Mapping[str, float]


def design_transmission(chain: Delivery) -> Result | None:
    """Return the transmission of the stated chain, or None where none is stated.

    A part that is not stated counts as not there.
    """
    if not any(name in chain for name in CHAIN):
        return None
    mirrors = loss = 1.0
    if "mirror_count" in chain:
        mirrors = delivery.mirrors_transmittance(
            mirror_count=chain["mirror_count"], mirror_reflectance=chain["mirror_reflectance"]
        )
    if "loss" in chain:
        loss = delivery.loss_transmittance(loss_db=chain["loss"])
    value = delivery.design_transmission(
        mirrors_transmittance=mirrors,
        lens_transmittance=chain.get("lens_transmittance", 1.0),
        window_transmittance=chain.get("window_transmittance", 1.0),
        loss_transmittance=loss,
        contamination_transmittance=chain.get("contamination_transmittance", 1.0),
    )
    return Result(value, "api.dose.delivery.design_transmission")


def basis_of(stated: Delivery) -> str | None:
    """Return what the delivered dose rests on: "verified", "design", or None."""
    if "verified_ratio" in stated:
        return VERIFIED
    return DESIGN if any(name in stated for name in CHAIN) else None


def delivered_fraction(stated: Delivery) -> Result | None:
    """Return the fraction of the set power that counts as delivered, or None."""
    if "verified_ratio" in stated:
        return Result(stated["verified_ratio"], "given")
    return design_transmission(stated)


def stated_beside(stated: Delivery) -> Mapping[str, Result]:
    """Return what stands beside a delivered dose: fraction, design, uncertainty of the ratio."""
    found = {
        "delivered_fraction": delivered_fraction(stated),
        "design_transmission": design_transmission(stated),
    }
    if "verified_ratio_uncertainty" in stated:
        uncertainty = stated["verified_ratio_uncertainty"]
        found["verified_ratio_uncertainty"] = Result(uncertainty, "given")
    return {name: result for name, result in found.items() if result is not None}
