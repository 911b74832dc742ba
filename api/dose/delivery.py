"""How much of the emitted power reaches the tissue: the ratio of the last power verification.

The ratio counts for the mode, handpiece and tip it was measured with, and for no other: whoever
fills the request leaves it out where they differ, and after a failed check.
"""

from api.dose.ranges import require_above_zero


def delivered_power_w(*, set_power_w: float, verified_ratio: float) -> float:
    """Return the power at the tissue from the power that the settings mean.

    Parameters:
        set_power_w [W]: average or peak power that the settings mean
        verified_ratio [1]: measured at the handpiece / set
    Returns: delivered power [W]
    Raises: BadInput if not above 0
    Valid for: the mode, handpiece and tip of the verification; energies scale alike
    Equation: P_delivered = r P_set
    Not covered: changes since the verification
    Source: `definition`
    """
    require_above_zero(set_power_w=set_power_w, verified_ratio=verified_ratio)
    return set_power_w * verified_ratio


def delivered_energy_j(*, set_energy_j: float, verified_ratio: float) -> float:
    """Return the energy at the tissue from the energy that the settings mean.

    Parameters:
        set_energy_j [J]: energy of a pulse or gate that the settings mean
        verified_ratio [1]: measured at the handpiece / set
    Returns: delivered energy [J]
    Raises: BadInput if not above 0
    Valid for: the mode, handpiece and tip of the verification
    Equation: E_delivered = r E_set
    Not covered: changes since the verification
    Source: `definition`
    """
    require_above_zero(set_energy_j=set_energy_j, verified_ratio=verified_ratio)
    return set_energy_j * verified_ratio
