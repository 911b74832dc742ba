/** What a desk asks about backups: online only, nothing kept. */
import { askJson } from "./client";

/** One try to make a backup; a `problem` is the stable code of what kept it from being one. */
export interface BackupTry { backup_id: string; made_at: string; verified_at: string | null; position: number | null; problem: string | null }
export interface ReturningTablet { tablet_id: string; label: string | null; named: number; came: number }

export interface Backups {
  last_verified: string | null;
  age_s: number | null;
  /** Older than a day, or none at all. */
  late: boolean;
  /** How many entries of the log are in no verified backup. */
  outside: number;
  tries: BackupTry[];
  restored: { at: string; backup_made_at: string; who: string; why: string; returning: ReturningTablet[] } | null;
}

/** What the server says to anybody: how old the last verified backup is, null where there is none. */
export interface BackupAge { backup_age_s: number | null; backup_late: boolean }

export const askBackupAge = (): Promise<BackupAge> => askJson<BackupAge>("health");

export const askBackups = (): Promise<Backups> => askJson<Backups>("backups");
