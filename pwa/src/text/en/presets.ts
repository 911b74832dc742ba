export const presetWords = {
  choose: "Start from one of our presets",
  picked: "Preset",
  another: "Choose another preset",
  search: "Find a preset",
  searchHint: "Name, procedure, laser, tip, or a value such as 3 W",
  kind: "Procedure",
  anyKind: "All procedures",
  recent: "You used last",
  others: "All others",
  count: (found: number, of: number) => `${found} of ${of} presets`,
  showAll: (n: number) => `Show all ${n} presets`,
  noneForTip: "No presets for this tip.",
} as const;
