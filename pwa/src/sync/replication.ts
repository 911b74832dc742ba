/** What a desk asks about the group that follows the practice: online only, nothing kept. */
import { askJson } from "./client";

/** How much of this location's log is not yet at the group; a `problem` is a stable code. */
export interface Behind {
  address: string;
  /** The group's key, as people compare it. */
  key: string;
  joined_at: string;
  /** Whether the practice's own key lies there, sealed to the recovery key. */
  key_left: boolean;
  log_position: number;
  position: number;
  waiting: number;
  waiting_since: string | null;
  contact_at: string | null;
  tried_at: string | null;
  problem: string | null;
  problem_since: string | null;
  /** Something has waited for more than three days. */
  late: boolean;
  /** How many photographs of records are not there yet; they follow their entries. */
  photographs_waiting: number;
  photographs_since: string | null;
}

/** One history of a location of a practice that this server follows. */
export interface FollowedLog { location_id: string; state: string; position: number; from_position: number; received_at: string | null }
export interface Followed { practice_id: string; name: string; key: string; contact_at: string | null; revoked_at: string | null; logs: FollowedLog[] }

export interface Replication { group: Behind | null; practices: Followed[] }

/** What the server says to anybody: how many entries and photographs wait for the group; null where none follows. */
export interface GroupLag { group_waiting: number | null; group_photographs_waiting: number | null; group_late: boolean }

export const askGroupLag = (): Promise<GroupLag> => askJson<GroupLag>("health");

export const askReplication = (): Promise<Replication> => askJson<Replication>("replication");
