/** The little of Node that tests use; the app itself is written for browsers only. */

declare module "node:fs" {
  export function readFileSync(path: string | URL, encoding: "utf8"): string;
}

declare const process: { env: Record<string, string | undefined> };
