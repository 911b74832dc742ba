/**
 * Lists to begin from where a practice has none. The wording is this project's own: common practice,
 * without a source where none is named. Nothing of it counts before somebody has gone through it.
 */
export interface StarterItem { text: string; group: string; why: string; not_applicable: "plain" | "reason" | "never" }
export interface StarterList { title: string; items: Record<string, StarterItem> }

const item = (not_applicable: StarterItem["not_applicable"], text: string, why = "", group = ""): StarterItem => ({ text, group, why, not_applicable });
const under = (group: string, items: Record<string, StarterItem>): Record<string, StarterItem> =>
  Object.fromEntries(Object.entries(items).map(([name, one]) => [name, { ...one, group }]));

export const starterLists: Record<"before_patient" | "time_out" | "pause" | "after_use", StarterList> = {
  before_patient: {
    title: "Before each patient",
    items: {
      ...under("Laser and handpiece", {
        check: item("reason", "Today’s check of this laser was passed"),
        operator: item("never", "The operator is authorised for this laser and this procedure"),
        handpiece: item("never", "Handpiece or tip is seated, its use count within the limit"),
        aiming: item("reason", "Aiming beam is visible and where it belongs", "The treatment beam cannot be seen."),
        test: item("reason", "Test exposure was made into damp paper on a fire-safe backing, everybody in eyewear", "Never at a hand or towards people."),
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
        evacuator: item("never", "Evacuator is on, its filter in date, its nozzle within 5 cm of the site", "NIOSH 96-128: within 2 inches, 100 to 150 feet a minute at the inlet."),
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
};
