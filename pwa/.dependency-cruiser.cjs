// Which folder of src may import which. Everything not named here is refused, so that a new
// folder must declare its place.
const allowed = {
  text: [],
  styles: [],
  dose: [],
  events: ["dose"],
  copy: ["events"],
  store: ["copy", "events"],
  outbox: ["copy", "store", "events"],
  sync: ["outbox", "copy", "store", "events"],
  session: ["sync", "outbox", "store", "events", "dose"],
  parts: ["text", "dose", "styles"],
  screens: ["parts", "session", "sync", "store", "outbox", "events", "dose", "text", "styles"],
};

/** @type {import("dependency-cruiser").IConfiguration} */
module.exports = {
  forbidden: [
    { name: "no-circular", severity: "error", from: {}, to: { circular: true } },
    { name: "no-orphan-import", severity: "error", from: {}, to: { couldNotResolve: true } },
    {
      name: "declare-your-place",
      severity: "error",
      from: { path: "^src/", pathNot: `^src/((${Object.keys(allowed).join("|")})/|[^/]+$)` },
      to: {},
    },
    ...Object.entries(allowed).map(([folder, into]) => ({
      name: `${folder}-imports-downward`,
      severity: "error",
      from: { path: `^src/${folder}/` },
      to: { path: "^src/", pathNot: `^src/(${[folder, ...into].join("|")})/` },
    })),
    {
      name: "pure-core",
      comment: "Physics and events reach neither the screen nor storage, even through others.",
      severity: "error",
      from: { path: "^src/(dose|events)/" },
      to: { path: "node_modules/(preact|@preact|idb)/", reachable: true },
    },
  ],
  options: {
    tsConfig: { fileName: "tsconfig.json" },
    doNotFollow: { path: "node_modules" },
    enhancedResolveOptions: { extensions: [".ts", ".tsx", ".js"] },
  },
};
