"""How much of the emitted power reaches the tissue: by design of the chain, or as last verified.

The verified ratio counts for the mode, handpiece and tip it was measured with, and for no other:
whoever fills the request leaves it out where they differ, and after a failed check. Set power,
transmission by design and verified ratio are three things and never mixed: a ratio wins where it
exists, and the design stands beside it.
"""

from api.dose.ranges import (
    require_above_zero,
    require_fraction,
    require_not_negative,
    require_whole,
)


def mirrors_transmittance(*, mirror_count: float, mirror_reflectance: float) -> float:
    """Return what a row of like mirrors leaves of the power.

    Parameters:
        mirror_count [1]: mirrors in the arm, whole, 0 or more
        mirror_reflectance [1]: of one mirror
    Returns: transmittance [1]
    Raises: BadInput if the count is not whole, or the reflectance not above 0 and at most 1
    Valid for: mirrors of one kind at one angle
    Equation: T = R^n
    Not covered: polarisation, which differs from mirror to mirror as the arm turns
    Source: `definition`
    """
    require_whole(mirror_count=mirror_count)
    require_fraction(mirror_reflectance=mirror_reflectance)
    return mirror_reflectance**mirror_count


def loss_transmittance(*, loss_db: float) -> float:
    """Return what a loss in decibel leaves of the power.

    Parameters:
        loss_db [dB]: loss of a waveguide or fibre, 0 or more
    Returns: transmittance [1]
    Raises: BadInput if negative
    Valid for: losses of power
    Equation: T = 10^(-a/10)
    Not covered: bends, which add to the loss: state it as bent
    Source: `definition`
    """
    require_not_negative(loss_db=loss_db)
    return 10 ** (-loss_db / 10)


def design_transmission(
    *,
    mirrors_transmittance: float,
    lens_transmittance: float,
    window_transmittance: float,
    loss_transmittance: float,
    contamination_transmittance: float,
) -> float:
    """Return what a delivery chain leaves of the power by its design.

    Parameters:
        mirrors_transmittance [1]: all mirrors together
        lens_transmittance [1]: the focusing lens
        window_transmittance [1]: a window or nozzle cover
        loss_transmittance [1]: a waveguide or fibre
        contamination_transmittance [1]: what smoke and splashes on the optics leave
    Returns: transmittance [1]
    Raises: BadInput if one is not above 0 and at most 1
    Valid for: parts one behind the other; a part that is not there has 1
    Equation: T = R^n T_lens T_window 10^(-loss/10) T_contamination
    Not covered: ageing and misalignment: only a measurement at the handpiece shows them
    Source: `definition`
    """
    parts = {
        "mirrors_transmittance": mirrors_transmittance,
        "lens_transmittance": lens_transmittance,
        "window_transmittance": window_transmittance,
        "loss_transmittance": loss_transmittance,
        "contamination_transmittance": contamination_transmittance,
    }
    require_fraction(**parts)
    transmission = 1.0
    for part in parts.values():
        transmission *= part
    return transmission


def delivered_power_w(*, set_power_w: float, delivered_fraction: float) -> float:
    """Return the power at the tissue from the power that the settings mean.

    Parameters:
        set_power_w [W]: average or peak power that the settings mean
        delivered_fraction [1]: verified ratio (measured at the handpiece / set), or transmission
            by design
    Returns: delivered power [W]
    Raises: BadInput if not above 0
    Valid for: the mode, handpiece and tip of the verification; energies scale alike
    Equation: P_delivered = r P_set
    Not covered: changes since the verification
    Source: `definition`
    """
    require_above_zero(set_power_w=set_power_w, delivered_fraction=delivered_fraction)
    return set_power_w * delivered_fraction


def delivered_energy_j(*, set_energy_j: float, delivered_fraction: float) -> float:
    """Return the energy at the tissue from the energy that the settings mean.

    Parameters:
        set_energy_j [J]: energy of a pulse or gate that the settings mean
        delivered_fraction [1]: verified ratio (measured at the handpiece / set), or transmission
            by design
    Returns: delivered energy [J]
    Raises: BadInput if not above 0
    Valid for: the mode, handpiece and tip of the verification
    Equation: E_delivered = r E_set
    Not covered: changes since the verification
    Source: `definition`
    """
    require_above_zero(set_energy_j=set_energy_j, delivered_fraction=delivered_fraction)
    return set_energy_j * delivered_fraction
