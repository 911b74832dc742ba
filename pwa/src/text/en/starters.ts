import type { DeviceKind } from "../../session/check-verdict";
import type { ListKind } from "../../session/lists";
import type { Beside } from "../../session/types";

/**
 * Lists to begin from where a practice has none. The wording is this project's own: common practice,
 * without a source where none is named. Nothing of it counts before somebody has gone through it.
 */
export interface StarterItem { text: string; group: string; why: string; not_applicable: "plain" | "reason" | "never"; beside: Beside | null }
export interface StarterList { title: string; items: Record<string, StarterItem> }

const item = (not_applicable: StarterItem["not_applicable"], text: string, why = "", beside: Beside | null = null): StarterItem => ({ text, group: "", why, not_applicable, beside });
const under = (group: string, items: Record<string, StarterItem>): Record<string, StarterItem> =>
  Object.fromEntries(Object.entries(items).map(([name, one]) => [name, { ...one, group }]));

export const starterLists: Record<ListKind | DeviceKind, StarterList> = {
  before_patient: {
    title: "Before each patient",
    items: {
      ...under("Laser and handpiece", {
        check: item("reason", "Today’s check of this laser was passed", "", "todays_check"),
        operator: item("never", "The operator is authorised for this laser and this procedure"),
        handpiece: item("never", "Handpiece or tip is seated, its use count within the limit"),
        aiming: item("reason", "Aiming beam is visible and where it belongs", "The treatment beam cannot be seen.", "aiming_beam"),
        test: item("reason", "Test exposure was made into damp paper on a fire-safe backing, everybody in eyewear", "Never at a hand or towards people.", "test_exposure"),
        footswitch: item("never", "Only this laser’s footswitch is in reach, and only the operator uses it"),
        stop: item("never", "Everybody knows where the emergency stop is"),
        settings: item("never", "Settings were read back: the panel shows what the screen shows"),
      }),
      ...under("Room", {
        door: item("never", "Door is closed, warning sign is up, window is covered"),
        reflections: item("never", "Reflective things are out of the way; instruments near the beam are matt"),
      }),
      ...under("Eyes", {
        eyewear: item("never", "Every head has laser eyewear of the right wavelength and density, without cracks", "Loupes count only where they are marked for this wavelength."),
        patientEyes: item("never", "The patient’s eyes are covered"),
      }),
      ...under("Air", {
        evacuator: item("never", "Evacuator is on, its filter in date, its nozzle within 5 cm of the site", "NIOSH 96-128: within 2 inches, 100 to 150 feet a minute at the inlet.", "nozzle"),
        masks: item("never", "High-filtration masks are on; fitted respirators where viral tissue is possible"),
      }),
      ...under("What must not be hit", {
        shields: item("reason", "Teeth, bone, implants and restorations are shielded, with a wet backstop behind the tissue"),
        lips: item("never", "Lips are free of ointment", "Ointment can burn."),
      }),
      ...under("Fire and gas", {
        wet: item("never", "Wet gauze, water and an extinguisher are within reach"),
        alcohol: item("never", "Nothing prepared with alcohol was used"),
        gas: item("reason", "Oxygen and nitrous oxide are off or reduced, and the waiting time of our written rule has passed", "Both feed a fire. If not: say why."),
      }),
    },
  },
  time_out: {
    title: "Time-out",
    items: {
      patient: item("never", "The patient was named by two identifiers, and both match the chart"),
      site: item("never", "Procedure and site were said aloud"),
      consent: item("never", "Consent is there"),
      allergies: item("never", "Allergies and alerts were read out"),
      settings: item("never", "Laser and settings were read aloud; the panel and the screen say the same"),
      heads: item("never", "There is eyewear for as many heads as are in the room"),
      plume: item("never", "Evacuator is on and close to the site"),
      fire: item("never", "Wet gauze is in reach, nothing burns, oxygen and nitrous oxide were seen to"),
      lesion: item("plain", "Suspicious lesion: a specimen is taken first, or it was said why not", "Vaporised tissue can no longer be examined."),
      agreed: item("never", "Everybody agrees to begin"),
    },
  },
  pause: {
    title: "During a pause",
    items: {
      standby: item("never", "Laser is in standby"),
      down: item("never", "Handpiece is down, aimed at nobody"),
      tip: item("plain", "Laser was in standby before the tip was changed"),
    },
  },
  after_use: {
    title: "After use",
    items: {
      off: item("reason", "Laser was put in standby, then switched off"),
      key: item("reason", "Key is back in its place"),
      tip: item("plain", "Tip was discarded, or sent to be sterilised and counted"),
      barrier: item("never", "Barrier film was changed"),
      eyewear: item("never", "Eyewear was cleaned and put away"),
      time: item("never", "Laser-on time is noted for every pass"),
      complications: item("never", "Complications were asked about and noted"),
    },
  },
  commissioning: {
    title: "Commissioning of a laser",
    items: {
      ...under("Papers", {
        register: item("never", "The laser stands in the register as its label says: serial number, wavelength, class, limits of its settings"),
        manual: item("never", "The maker’s instructions lie at the laser, and those who will use it have read them"),
      }),
      ...under("Setting up", {
        arm: item("never", "The arm or guide is seated as the maker shows, moves freely and stays where it is put"),
        air: item("plain", "The air line is connected and tight, its pressure as the maker asks"),
        mains: item("never", "The mains supply is what the label asks for, with earth, without an extension lead"),
        converter: item("plain", "The voltage converter is one that the maker allows, rated for this laser"),
        cooling: item("plain", "Cooling runs; its level and its air inlets are as the maker asks"),
      }),
      ...under("What keeps it safe", {
        interlock: item("reason", "The interlock ends emission when its contact opens", "Tried with the beam into damp paper, everybody in eyewear."),
        stop: item("never", "The emergency stop switches the laser off, and everybody knows where it is"),
        footswitch: item("never", "Emission begins with the footswitch alone and ends when the foot is lifted"),
        key: item("never", "Without its key the laser does not start; every key is in the register"),
        sign: item("never", "Warning signs, window covers and eyewear are there for the room’s zone"),
      }),
      ...under("Measured", {
        warmUp: item("never", "The warm-up time was measured and stands in the note of this check"),
        aiming: item("never", "The aiming beam is visible and centred on the mark of a test exposure", "The treatment beam cannot be seen.", "aiming_beam"),
        test: item("never", "A test exposure was made into damp paper on a fire-safe backing, everybody in eyewear", "Never at a hand or towards people.", "test_exposure"),
        power: item("never", "The first power check with a meter was made and passed"),
      }),
    },
  },
  after_move: {
    title: "After a move or a service",
    items: {
      ...under("Whole and connected", {
        damage: item("never", "Housing, cables and arm show no damage from the way or the work"),
        arm: item("never", "The arm or guide is seated and moves freely"),
        air: item("plain", "The air line is connected and tight"),
        mains: item("never", "The mains supply here is what the label asks for, with earth, without an extension lead"),
        converter: item("plain", "The voltage converter came along, and is the one that belongs to this laser"),
        cooling: item("plain", "Cooling runs and nothing leaks"),
      }),
      ...under("What keeps it safe", {
        interlock: item("reason", "The interlock of this room is connected and ends emission"),
        stop: item("never", "The emergency stop switches the laser off"),
        footswitch: item("never", "The footswitch starts and ends emission; no other laser’s footswitch is in reach"),
        key: item("never", "Every key is back and counted"),
        zone: item("reason", "The zone of this room was decided for this laser, signs and eyewear are there"),
      }),
      ...under("Measured", {
        warmUp: item("never", "The warm-up time was measured and stands in the note of this check"),
        aiming: item("never", "The aiming beam is visible and centred", "A move may shift a mirror.", "aiming_beam"),
        test: item("never", "A test exposure was made into damp paper on a fire-safe backing, everybody in eyewear", "Never at a hand or towards people.", "test_exposure"),
        power: item("never", "A power check with a meter was made since, and passed"),
      }),
    },
  },
  start_of_day: {
    title: "Start of day",
    items: {
      ...under("The laser", {
        cables: item("never", "Cable, arm, tip and footswitch are whole"),
        key: item("never", "The key is here and turns"),
        stop: item("never", "The emergency stop works"),
        interlock: item("reason", "The interlock works"),
        cooling: item("plain", "Cooling runs"),
        aiming: item("never", "The aiming beam is visible and centred", "A faint or shifted dot calls for cleaning or service.", "aiming_beam"),
        test: item("never", "The test exposure looks as it always does", "Into damp paper on a fire-safe backing, everybody in eyewear.", "test_exposure"),
      }),
      ...under("The room", {
        evacuator: item("never", "The evacuator draws as it should, its filter is in date", "", "nozzle"),
        sign: item("never", "The warning sign is at the door, the window is covered"),
        eyewear: item("never", "Eyewear is there for every head, clean and without cracks"),
        fire: item("never", "Wet gauze, water and an extinguisher are in their places"),
      }),
    },
  },
  end_of_day: {
    title: "End of day",
    items: {
      off: item("never", "The laser went to standby and was switched off"),
      key: item("never", "The key is out and in its place"),
      arm: item("plain", "The arm or guide is parked, its output covered"),
      tips: item("plain", "Handpieces and tips were discarded, or sent to be sterilised and counted"),
      footswitch: item("never", "Footswitch and cables are put away, nothing is kinked"),
      evacuator: item("never", "The evacuator is off; its filter was changed where it was due"),
      eyewear: item("never", "Eyewear was cleaned and counted"),
      open: item("never", "Whatever was wrong today has been told to the safety officer"),
    },
  },
  weekly: {
    title: "Weekly check",
    items: {
      power: item("reason", "This week’s power check with a meter was made and passed"),
      optic: item("plain", "The output optic is clean, as far as the maker lets it be seen", "Key out; cleaned only as the maker says, and fully dry before emission."),
      cables: item("never", "Cables and hoses are whole along their length"),
      level: item("plain", "The coolant’s level is right and nothing leaks"),
      filters: item("never", "The evacuator’s filter is within its hours"),
      eyewear: item("never", "Each pair of eyewear can be read, fits and has no cracks"),
      records: item("never", "No check of the last days is missing without a reason"),
    },
  },
  monthly: {
    title: "Monthly check",
    items: {
      stop: item("never", "Emergency stop and interlock were tried and end emission", "Into damp paper on a fire-safe backing, everybody in eyewear."),
      footswitch: item("never", "The footswitch is clean under its cover, does not stick, and is tied to this laser"),
      arm: item("plain", "The joints of the arm, or the guide, move evenly over their whole way"),
      air: item("plain", "Air filter and cooling inlets are clean"),
      keys: item("never", "All keys were counted"),
      signs: item("never", "Signs, window covers and curtains are whole"),
      extinguisher: item("never", "The extinguisher is charged and in date"),
    },
  },
  yearly: {
    title: "Yearly check",
    items: {
      service: item("reason", "The maker’s service of this year was made, with its certificate"),
      electrical: item("reason", "The electrical safety test that the law of this place asks for was made"),
      meter: item("never", "The power meter was calibrated within the last year"),
      limits: item("never", "The register still says what the label and the panel say"),
      inventory: item("never", "Laser, handpieces and eyewear were found where the inventory says", "Texas 25 TAC 289.301(j) asks for a yearly inventory; your law may ask for more."),
      training: item("never", "Everybody who uses this laser has training that is in date"),
      zone: item("never", "The zone of each room was looked at anew"),
      rules: item("never", "The written rules and these lists were read and are still right"),
    },
  },
};
