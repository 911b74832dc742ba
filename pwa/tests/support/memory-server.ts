/** A server of a tablet's requests in a few lines: who is here, what it takes, what it has to tell. */

import { base64url, utf8 } from "../../src/events/bytes";
import type { Item } from "../../src/events/build";
import { surroundings } from "../../src/events/surroundings";
import { FIRST_LINK, nextLink, type EntryHashes } from "../../src/sync/chain";
import { publicText } from "./tablet";

export const ALICE = "01939a2b-0000-7000-8000-00000000a11c";
/** A hash of one byte over and over. */
export const byte = (value: number): string => value.toString(16).padStart(2, "0").repeat(32);

export interface Sent { path: string; query: URLSearchParams; headers: Headers; body: Record<string, unknown> }

export class MemoryServer {
  reachable = true;
  readonly sent: Sent[] = [];
  readonly held: Item[] = [];
  documents: { kind: string; doc_id: string; position: number; body: object | null }[] = [];
  entries: EntryHashes[] = [];
  page = 2;
  pin = "123456";
  person_token = "person-token";
  pin_answer: { status: number; body: object } | null = null;
  view_key: string | null = base64url(new Uint8Array(32).fill(8));
  secrets_changed_at = "2026-01-01T00:00:00.000+00:00";
  token = "tablet-token-1";
  tamper: (text: string) => string = (text) => text;
  keys!: CryptoKeyPair;

  fetch = async (path: string, init: RequestInit): Promise<Response> => {
    if (!this.reachable) throw new TypeError("no network");
    const url = new URL(path, "http://127.0.0.1");
    const body = typeof init.body === "string" ? (JSON.parse(init.body) as Record<string, unknown>) : {};
    const headers = new Headers(init.headers);
    const name = url.pathname.replace("/api/v1/", "");
    this.sent.push({ path: name, query: url.searchParams, headers, body });
    const open = ["tablet/enrol", "tablet/challenge", "tablet/token"].includes(name);
    if (!open && headers.get("Authorization") !== `Bearer ${this.token}`) return json({ code: "token_expired" }, 401);
    if (name === "tablet/enrol") return json(await this.enrolled(body), 201);
    if (name === "tablet/challenge") return json({ nonce: "n-1" });
    if (name === "tablet/token") return json({ token: this.token, expires_at: "x", server_time: this.time() });
    if (name === "session/pin") return this.signIn(body);
    if (name === "sync/push") return json(this.push(body.items as Item[]));
    if (name === "sync/pull") return json(await this.pulled(url.searchParams));
    if (name === "sync/alarm") return json({ new: true });
    return json({ code: "not_found" }, 404);
  };

  time(): string {
    return new Date(surroundings().now() + 1_500).toISOString().replace("Z", "+00:00");
  }

  private async enrolled(body: Record<string, unknown>): Promise<object> {
    const text = JSON.stringify({ tablet_id: "t-1", location_id: "l-1", public_key: body.public_key, issued_at: "x" });
    return {
      tablet_id: "t-1", location_id: "l-1", location_name: "Upstairs", practice_name: "P", zone: "Europe/Berlin",
      epoch: "epoch-1", server_public_key: await publicText(this.keys.publicKey),
      certificate: { text: this.tamper(text), signature: await this.signed(text) },
      keep_key: base64url(new Uint8Array(32).fill(7)), server_time: this.time(),
    };
  }

  private signIn(body: Record<string, unknown>): Response {
    if (this.pin_answer !== null) return json(this.pin_answer.body, this.pin_answer.status);
    if (body.pin !== this.pin) return json({ code: "pin_wrong", attempts_left: 4 }, 401);
    return json({
      person_token: this.person_token, expires_at: "x", person: { person_id: ALICE, display_name: "A" },
      keep_key: base64url(new Uint8Array(32).fill(7)), view_key: this.view_key, secrets_changed_at: this.secrets_changed_at,
    });
  }

  private push(items: Item[]): object {
    const results = items.map((item) => {
      this.held.push(item);
      return { event_id: item.event_id, tablet_seq: item.tablet_seq, outcome: "applied", position: this.held.length };
    });
    return { results, server_time: this.time() };
  }

  private async pulled(query: URLSearchParams): Promise<object> {
    const from = Number(query.get("cursor") ?? 0);
    const to = Math.min(this.entries.length, from + this.page);
    let link = FIRST_LINK;
    let previous = link;
    for (const each of this.entries) {
      link = await nextLink(link, each);
      if (each.position === from) previous = link;
    }
    const text = JSON.stringify({ epoch: "epoch-1", location_id: "l", position: this.entries.length, link, at: this.time() });
    return {
      documents: this.documents.filter(({ position }) => position > from && position <= to),
      entries: query.get("feed") === "house" ? this.entries.slice(from, to) : [],
      previous_link: previous, next_cursor: String(to), more: to < this.entries.length,
      head: { text: this.tamper(text), signature: await this.signed(text) },
      server_time: this.time(), durable_position: null,
    };
  }

  private async signed(text: string): Promise<string> {
    return base64url(new Uint8Array(
      await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, this.keys.privateKey, utf8(text))));
  }
}

export function json(body: object, status_code = 200): Response {
  return new Response(JSON.stringify(body), { status: status_code, headers: { "Content-Type": "application/json" } });
}
