"""What a person has to know beside the numbers of a hazard."""

from collections.abc import Mapping

from api.dose.hazard.constants import number
from api.dose.hazard.editions import ICNIRP_2013
from api.dose.hazard.limits import is_retinal, is_stricter_than_directive, is_thermal
from api.dose.hazard.request import HazardInput
from api.dose.hazard.train import ADDING_UP, WHOLE

NOT_FOR_TISSUE = "the limits protect people in the room; they do not apply to the tissue treated"
EVERYBODY = "everybody in the room wears eyewear while the laser can emit"
GREATEST = (
    "enter the laser's greatest output, never the present setting; a low verified ratio changes "
    "nothing here"
)
DIFFUSE = (
    "metal that looks matt can be a mirror at 10.6 um: the diffuse distance never decides who "
    "wears eyewear"
)
BURN_THROUGH = "optical density says nothing of how long a filter withstands the beam"
AIMING = "eyewear for a CO2 laser does not stop its visible aiming beam"
NO_FACTOR = (
    "grades are without the factor for beam size; with it they can be higher: editions differ"
)
NO_ACCUMULATION = "the grade is for one pulse; pulses that add up can need a higher one"
TRANSCRIBED = (
    "these tables were read in transcriptions: compare with the original before relying on them"
)
STRICTER = (
    "short exposures of the retina keep the limit of ICNIRP 2013: stricter than the "
    "directive's own row"
)
ADDED_UP = (
    "the directive lets pulses add up under thermal limits and leaves open whether the limit of "
    "such short pulses is one: they add up here, which is the stricter reading"
)
LABEL = "the class on the maker's label decides"


def _keeps_the_stricter(given: HazardInput, results: Mapping[str, Mapping]) -> bool:
    """Return whether a limit rests on a row that is stricter than the directive's own."""
    limit = results.get("exposure_limit_fluence")
    if limit is None or limit.get("rule") == WHOLE:
        return False
    return is_stricter_than_directive(
        wavelength_m=given.wavelength_m,
        exposure_time_s=given.pulse_duration_s if given.is_train else given.exposure_time_s,
        target=given.target,
        edition=given.edition,
    )


def _adds_up_by_reading(given: HazardInput, results: Mapping[str, Mapping]) -> bool:
    """Return whether pulses add up that may have no thermal limit; on the retina they do so."""
    limit = results.get("exposure_limit_fluence")
    if limit is None or limit.get("rule") != ADDING_UP:
        return False
    place = {"wavelength_m": given.wavelength_m, "target": given.target}
    return not (is_retinal(**place) or is_thermal(**place, exposure_time_s=given.pulse_duration_s))


def notes(given: HazardInput, results: Mapping[str, Mapping]) -> list[dict[str, object]]:
    """Return what a person has to know beside the numbers, as the response carries it."""
    found = [
        ("not_for_tissue", NOT_FOR_TISSUE, ["icnirp2013"]),
        ("everybody_wears_eyewear", EVERYBODY, ["practice"]),
        ("greatest_output", GREATEST, ["practice"]),
    ]
    if given.edition == ICNIRP_2013:
        found.append(("transcribed", TRANSCRIBED, ["icnirp2013"]))
    else:
        found.append(("transcribed", TRANSCRIBED, ["directive2006"]))
    if _keeps_the_stricter(given, results):
        found.append(("stricter_than_directive", STRICTER, ["directive2006"]))
    if _adds_up_by_reading(given, results):
        found.append(("adds_up_by_reading", ADDED_UP, ["directive2006"]))
    if "diffuse_distance" in results:
        found.append(("diffuse_never_decides", DIFFUSE, ["practice"]))
    if "optical_density" in results:
        found.append(("density_not_burn_through", BURN_THROUGH, ["en207"]))
        if given.wavelength_m > number("EN207_LONG_FROM"):
            found.append(("aiming_beam_passes", AIMING, ["practice"]))
    if ("en207_d" in results or "en207_ir" in results) and not given.with_beam_size_factor:
        found.append(("without_beam_size_factor", NO_FACTOR, ["en207"]))
    if "en207_ir" in results and given.is_train and given.accumulation_window_s is None:
        found.append(("without_accumulation", NO_ACCUMULATION, ["en207"]))
    if "aiming_beam_class" in results:
        found.append(("label_decides", LABEL, ["iec60825"]))
    return [{"code": code, "text": text, "sources": sources} for code, text, sources in found]
