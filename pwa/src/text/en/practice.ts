export const practiceWords = {
  title: "Practice",
  lead: "What this practice has agreed on, and who has read it.",
  pages: {
    presets: { title: "Presets", about: "This practice’s settings for each laser and procedure, with their versions." },
    procedures: { title: "Procedures", about: "What is done here with a laser, with notes and cautions." },
    lists: { title: "Lists", about: "Time-out and other lists: their versions, and who has acknowledged them." },
    locations: { title: "Locations", about: "Where the practice works, each with its own log; opening another one." },
    sessions: { title: "Who is signed in", about: "Desks and tablets where somebody is signed in now, and ending it." },
    rooms: { title: "Rooms", about: "Plans of the rooms, hazard distances, and who wears eyewear up to where." },
    power: { title: "Power checks", about: "What leaves the handpiece, measured with a meter: recording a check, and all of them." },
    people: { title: "People", about: "Who works here, in which roles, and who changed them." },
    tablets: { title: "Tablets", about: "Enrol a tablet with a one-time code, rename it, shut a lost one out." },
    aside: { title: "Put aside", about: "Entries of tablets that count only once somebody has looked at them." },
    backup: { title: "Backup", about: "The last verified backup and its age; after a restore, what has come back." },
    group: { title: "Group", about: "How much of the log is not yet at the group that follows this practice, and why." },
    log: { title: "Access log", about: "Who read, changed, exported or was refused what, when and where." },
  },
} as const;
