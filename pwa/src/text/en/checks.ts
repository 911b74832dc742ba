const count = (n: number, one: string, many: string) => `${n} ${n === 1 ? one : many}`;

export const checkWords = {
  title: "Checks of the lasers",
  lead: "Each laser’s lists, as they were answered: when, by whom, in time or late, and what failed.",
  of: (laser: string) => `Checks of ${laser}`,
  all: "All lasers",
  kinds: {
    commissioning: "Commissioning",
    after_move: "After a move or a service",
    start_of_day: "Start of day",
    end_of_day: "End of day",
    weekly: "Weekly",
    monthly: "Monthly",
    yearly: "Yearly",
  } as Record<string, string>,
  make: "Make this check",
  makeOf: (kind: string, laser: string) => `${kind}: make this check of ${laser}`,
  goOn: "Go on with it",
  begun: (n: number, all: number) => `Begun: ${n} of ${all}`,
  notMade: "Never made",
  notToday: "Not made today",
  noList: "No such list is written yet.",
  noListMore: "The safety officer writes it under Practice, Lists; a starter list is offered there.",
  toLists: "To the lists",
  passed: "Passed",
  failed: "Failed",
  passedAt: (time: string, who: string) => `passed ${time}${who ? ` by ${who}` : ""}`,
  failedAt: (time: string, who: string) => `failed ${time}${who ? ` by ${who}` : ""}`,
  late: (moment: string) => `written down late, ${moment}`,
  inTime: "in time",
  history: "All checks",
  more: (n: number) => `Show ${n} earlier`,
  waits: "Saved on this tablet; it counts here at once.",

  // Answering
  lead2: "Look at each thing yourself, then answer for it.",
  answers: { yes: "Passed", no: "Failed", "not applicable": "Not applicable" } as Record<string, string>,
  reasonFailed: "With what did it fail?",
  counts: (yes: number, no: number, na: number) => `${yes} passed, ${no} failed, ${na} not applicable`,
  fails: (n: number) => `This check fails: ${count(n, "item", "items")} failed.`,
  passes: "This check passes.",
  finishPassed: "Write it down: passed",
  finishFailed: "Write it down: failed",
  note: "Note (optional)",
  noteHint: "For instance the warm-up time that was measured.",
  when: "When it was done",
  now: "Just now",
  earlier: "Earlier",
  earlierAt: "Day and time it was done",
  earlierHint: "More than 12 hours ago counts as written down late.",
  earlierWrong: "Say when it was done: a moment that is past.",
  old: (date: string) => `This list was begun on ${date} and not finished. A check of today is looked at today.`,
  notNow: "It was begun on an earlier day: say when it was done, or begin anew.",
  beginAnew: "Begin anew",
  drop: "Not now",

  // After a failure
  failedTitle: (kind: string) => `${kind}: failed`,
  next: [
    "Do not use this laser on a patient.",
    "Switch it off, take the key out, and give the key to the safety officer to hold.",
    "Put a tag on the laser that says why it is out of service.",
    "Tell the safety officer and whoever was about to use it.",
    "Once it is put right, make the check again; then a safety officer asks for its release, and a second person confirms.",
  ],
  cannotStop: "This program cannot stop a laser. Only the key that is out and the tag on it keep it from being used.",

  // Flags
  flags: {
    list_unknown: "The list that was answered is not known here, so this check proves nothing.",
    list_differs: "The list that was answered is of another kind.",
    items_missing: "Not every item of the list was answered.",
    not_applicable_refused: "An item that always applies was answered “not applicable”.",
    reason_missing: "A reason is missing.",
    verdict_differs: "It was written down as passed; its answers say otherwise.",
    claimed_ahead: "It was claimed for a later moment than it was written down; the earlier one counts.",
  } as Record<string, string>,

  // Beside an item of the list before a patient
  known: {
    title: "What is known here",
    passed: (time: string, who: string) => `Start of day passed ${time}${who ? ` by ${who}` : ""}`,
    failed: (time: string, what: string) => `Start of day failed ${time}: ${what}`,
    notMade: "No start-of-day check of this laser was made today on what this device knows.",
  },

  // Pictures, in words too
  pictures: {
    aiming_beam: {
      title: "Where the aiming dot belongs",
      right: "centred", wrong: "off",
      text: "Left: the dot sits in the middle of the mark that a test exposure left. Right: it sits beside the mark; do not use the laser.",
    },
    test_exposure: {
      title: "Test exposure",
      paper: "damp paper", backing: "fire-safe backing",
      text: "The handpiece points down at damp paper on a fire-safe backing. Everybody wears eyewear; nobody’s hand is near, and the beam never points at anyone.",
    },
    nozzle: {
      title: "Nozzle of the evacuator",
      distance: "5 cm at most", site: "site",
      text: "The nozzle stands within 5 cm of the site (NIOSH 96-128: within 2 inches).",
    },
  },

  // One glance
  glance: {
    title: "The lasers today",
    allWell: (n: number) => (n === 1 ? "The laser has passed what is due today." : `All ${n} lasers have passed what is due today.`),
    nothingAsked: "No checks of the lasers are asked for: no list for the start of a day is written yet.",
    notMade: "Start-of-day check not made today",
    failed: (kind: string, what: string) => `${kind} failed: ${what}`,
    today: (time: string, who: string) => `Start of day passed ${time}${who ? `, ${who}` : ""}`,
    also: (what: string) => `Then: ${what}`,
    see: "See what to do",
    doIt: "Make it",
  },
} as const;
