/** The catalogue of events, version 1: names and payloads. Numbers are integers or decimal strings. */

/** A number with its unit, as entered: "4.5 W". */
export type Quantity = string;
/** RFC 3339 with milliseconds and offset. */
export type Moment = string;
/** The request of the dose engine, strings only. */
export type DoseSettings = object;

export type SpotKnown = "label" | "measured" | "estimated";
export type Focus = "focused" | "defocused";
export type Coolant = "none" | "air" | "water";
export type Answer = "yes" | "no" | "not applicable";
export type LaserOnSource = "timer" | "device counter" | "tone" | "estimate";

export interface Patient { chart_number: string; second_identifier: string }

export interface HandpieceUsed {
  handpiece_id: string; label: string; kind: string; use_count: number | null;
  /** Which laser the house's register gives it to, where the writer knew. */
  device_id?: string | null;
}

export interface VerificationUsed {
  verification_id: string; event_id: string; ratio: string; ratio_uncertainty: string;
  verified_at: Moment; mode: string; handpiece_id: string; verdict: string;
}

export interface ProcedureOpened {
  patient: Patient;
  procedure: { procedure_kind_id: string | null; text: string; code: string | null };
  site: string;
  indication: string;
  why_laser: string | null;
  operator_id: string;
  supervising_id: string | null;
  assistant_ids: string[];
  others_present: string | null;
  room: string | null;
  device: {
    device_id: string; label: string; maker: string; model: string; serial: string;
    wavelength: Quantity; delivery_part: string;
  };
  handpiece: HandpieceUsed;
  verification: VerificationUsed | null;
  consent: null | { by: string; at: Moment };
  anaesthesia: string | null;
  alerts_reviewed: boolean;
  started_at: Moment;
}

export interface ItemAnswer {
  item_id: string; text: string; answer: Answer; note: string | null; answered_at: Moment;
  /** Who answered this item. */
  by?: string | null;
}

export interface TimeoutAnswered {
  list_id: string;
  list_version: number;
  title: string;
  answers: ItemAnswer[];
  led_by: string;
}

export interface ListAnswered extends TimeoutAnswered {
  kind: "before_patient" | "pause" | "after_use";
  /** By value from the list: how long after the end it might be answered [s]. */
  within_s?: number | null;
}

export interface ProtectionNoted {
  heads: number;
  /** Wavelength and optical density as marked on it. */
  eyewear: { label: string; wavelength: string | null; optical_density: string | null; wearer: string; eyewear_id?: string | null }[];
  evacuator: string | null;
  masks: string | null;
  deviations: string | null;
}

export interface PassStarted {
  pass_id: string;
  number: number;
  settings: DoseSettings;
  verification_event_id: string | null;
  preset: null | { preset_id: string; version: number; name: string; event_id?: string | null };
  changed_from_preset: boolean;
  spot_known: SpotKnown;
  focus: Focus;
  coolant: Coolant;
  distance: Quantity | null;
  dose: { engine: string; set: Record<string, string>; delivered: Record<string, string> | null };
  /** Of this pass alone; left out where the record's own hold. */
  handpiece?: HandpieceUsed | null;
  verification?: VerificationUsed | null;
}

export interface LaserEmitted {
  pass_id: string;
  laser_on_time: Quantity;
  source: LaserOnSource;
  pulses: number | null;
}

export interface ProcedureNoted { text: string }
export interface ProcedurePaused { reason: string | null }
export type ProcedureResumed = Record<string, never>;

export interface ProcedureHandedOver {
  from_id: string; to_id: string; role: "operator" | "assistant" | "recorder"; note: string | null;
}

/** A photograph; its bytes lie beside the log, under their hash. */
export interface AttachmentAdded {
  attachment_id: string;
  kind: "photograph";
  sha256: string;
  media_type: "image/jpeg";
  size_bytes: number;
  width_px: number;
  height_px: number;
  caption: string | null;
  taken_at: Moment;
}

export interface ProcedureEnded {
  outcome: {
    haemostasis: string | null; specimens: string | null; sutures: string | null;
    complications: string | null; instructions: string | null;
  };
  ended_at: Moment;
}

export interface EntryWithdrawn { reason: string }
export interface RecordSigned { signer_id: string; role: string; content_hash: string; statement: string }
export interface RecordAddended { text: string; reason: string }
export interface RecordPlacedInChart {
  how: "pdf" | "text" | "other"; note: string | null;
  /** Which version of the record was put there, where the writer knew. */
  version?: number | null;
}
export interface RecordRemovedFromChart {
  /** The move or the voiding for which the paper had to go. */
  because: string;
  note: string | null;
}
export interface RecordReattributed { from: Patient; to: Patient; reason: string }
export interface RecordVoided { reason: string }
export interface ListAcknowledged { version: number }

/** It went on with this operator although something stood against them, and why. */
export interface OperatorAccepted {
  operator_id: string;
  findings: { code: string; kind: string | null; expires_on: string | null }[];
  reason: string;
}

export interface VerificationRecorded {
  device_id: string;
  handpiece_id: string;
  mode: string;
  meter: { label: string; serial: string; calibrated_on: string };
  readings: { settings: object; expected_average_power: Quantity; measured: Quantity[] }[];
  ratio: string;
  ratio_uncertainty: string;
  meter_uncertainty: string;
  verdict: "ok" | "warn" | "fail";
  rule: string;
  note: string | null;
}

/** A list about a laser as answered; the entry's own moment is when it was written down. */
export interface DeviceChecked {
  device_id: string;
  kind: string;
  list_id: string;
  list_version: number;
  /** The publication that was answered: of two with one number, which one it was. */
  list_event_id: string | null;
  title: string;
  answers: ItemAnswer[];
  verdict: "passed" | "failed";
  /** When it was done, as whoever wrote it down says. */
  done_at: Moment;
  note: string | null;
}

/** An optic was cleaned as its maker says, key out, and dry before the next emission. */
export interface OpticCleaned {
  device_id: string;
  what: "output optic" | "handpiece lens" | "tip" | "other";
  handpiece_id: string | null;
  note: string | null;
}

/** A laser's own set-up for test cuts into damp paper. */
export interface CutReferenced {
  device_id: string;
  handpiece_id: string;
  mode: string;
  settings: object;
  expected_average_power: Quantity;
  spot_diameter: Quantity;
  distance: Quantity;
  stack: string;
  wetness: string;
  cut_length: Quantity;
  cut_time: Quantity;
  note: string | null;
}

/** One cut by a set-up: a trend, never a power in watts. */
export interface CutRecorded {
  device_id: string;
  reference_id: string;
  cut_length: Quantity;
  cut_time: Quantity;
  depths: Quantity[];
  expected_depth: Quantity;
  aiming_beam: "as usual" | "fainter" | "not seen" | null;
  note: string | null;
}

export interface ServiceCause { event_id: string; kind: "verification" | "check" | "taken_out"; at: Moment; text: string }
/** A procedure was begun on a laser that was out of service, and why. */
export interface ServiceOverridden { device_id: string; causes: ServiceCause[]; reason: string }

export interface DeviceTakenOut { reason_code: "suspicion" | "damage" | "repair" | "other"; reason: string; key_held_by: string | null }
/** Who holds the key, or where it is locked away. */
export interface DeviceKeyHeld { held_by: string }
/** The first of two people: what put it out, what was done, and the tests passed since, by their events. */
export interface DeviceReleaseAsked { causes: string[]; tests: string[]; done: string }
export interface DeviceReleased { asked: string; note: string | null }

/** What was measured where a power was set, before or after work on a laser. */
export interface PowerFound { expected: string; measured: string }
export interface Certificate { sha256: string; file_name: string; media_type: string; size_bytes: number }
export interface MaintenanceRecorded {
  device_id: string; kind: "service" | "repair" | "move" | "inspection"; done_on: string; done_by: string; what: string; parts: string | null;
  power_before: PowerFound | null; power_after: PowerFound | null; certificates: Certificate[]; released_by: string | null; restarts_trend: boolean; next_due_on: string | null;
}
export interface IncidentRecorded {
  happened_at: string; kind: string; harm: string; what: string; people: { role: string; person_id: string | null }[]; device_id: string | null; handpiece_id: string | null;
  settings: object | null; settings_text: string | null; record_id: string | null; done_at_once: string; device_taken_out: boolean;
}
export interface IncidentAssessed { reportable: "yes" | "no" | "not_yet_known"; reasons: string; citation: string | null; to_whom: string | null; report_by: string | null; reported_on: string | null }
export interface IncidentActionSet { action_id: string; what: string; who_id: string | null; by_day: string | null; done_on: string | null }

/** Payload of each type a tablet makes; types made at a desk carry an object. */
export interface Payloads {
  "procedure.opened": ProcedureOpened;
  "timeout.answered": TimeoutAnswered;
  "list.answered": ListAnswered;
  "operator.accepted": OperatorAccepted;
  "service.overridden": ServiceOverridden;
  "protection.noted": ProtectionNoted;
  "pass.started": PassStarted;
  "laser.emitted": LaserEmitted;
  "procedure.noted": ProcedureNoted;
  "procedure.paused": ProcedurePaused;
  "procedure.resumed": ProcedureResumed;
  "procedure.handed_over": ProcedureHandedOver;
  "attachment.added": AttachmentAdded;
  "procedure.ended": ProcedureEnded;
  "entry.withdrawn": EntryWithdrawn;
  "record.signed": RecordSigned;
  "record.addended": RecordAddended;
  "record.placed_in_chart": RecordPlacedInChart;
  "record.removed_from_chart": RecordRemovedFromChart;
  "record.reattributed": RecordReattributed;
  "record.voided": RecordVoided;
  "list.acknowledged": ListAcknowledged;
  "verification.recorded": VerificationRecorded;
  "optic.cleaned": OpticCleaned;
  "test_cut.referenced": CutReferenced;
  "test_cut.recorded": CutRecorded;
  "device.checked": DeviceChecked;
  "device.taken_out": DeviceTakenOut;
  "device.key_held": DeviceKeyHeld;
  "device.release_asked": DeviceReleaseAsked;
  "device.released": DeviceReleased;
  "location.opened": object;
  "person.registered": object;
  "person.left": object;
  "emergency.opened": object;
  "emergency.acknowledged": object;
  "credential.noted": object;
  "credential.withdrawn": object;
  "scope.decided": object;
  "tablet.enrolled": object;
  "device.registered": object;
  "handpiece.registered": object;
  "device.retired": object;
  "handpiece.retired": object;
  "eyewear.registered": object;
  "eyewear.inspected": object;
  "eyewear.retired": object;
  "key.registered": object;
  "key.moved": object;
  "key.retired": object;
  "meter.registered": object;
  "meter.calibrated": object;
  "meter.retired": object;
  "inventory.taken": object;
  "due_rule.set": object;
  "maintenance.recorded": MaintenanceRecorded;
  "maintenance.withdrawn": { reason: string };
  "incident.recorded": IncidentRecorded;
  "incident.assessed": IncidentAssessed;
  "incident.action_set": IncidentActionSet;
  "incident.closed": { conclusion: string };
  "incident.reopened": { reason: string };
  "procedure_kind.listed": object;
  "list.published": object;
  "room.drawn": object;
  "zone.decided": object;
  "list.set_aside": object;
  "list.offer_declined": object;
  "preset.offer_declined": object;
  "preset.published": object;
  "preset.withdrawn": object;
}

export type EventType = keyof Payloads;
