/** Rooms as the house's documents carry them. Whole millimetres from a corner of reference. */

export interface Place2d { x_mm: number; y_mm: number }

export interface RoomPlanSaid {
  name: string;
  corners: Place2d[];
  openings: { kind: string; wall: number; from_mm: number; width_mm: number }[];
  chairs: { x_mm: number; y_mm: number; turn_deg: number }[];
  source: Place2d;
}

export interface ZoneSaid {
  device_id: string;
  handpiece_id: string | null;
  request: Record<string, unknown>;
  edition: string;
  /** What came of it, as shown. */
  results: Record<string, string>;
  everybody: boolean;
  smaller: { distance: string; reason: string } | null;
}

interface Said { event_id: string; at: string; by: string | null }

export interface RoomDocument {
  room_id: string;
  plan: (RoomPlanSaid & Said) | null;
  /** `differing`: results that the server does not get from the same request. */
  zones: (ZoneSaid & Said & { differing?: string[] })[];
}
