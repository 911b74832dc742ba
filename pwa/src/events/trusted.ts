/**
 * Addresses of workers. The content policy demands trusted types; this one policy lets through
 * what the app itself was built of, and nothing else.
 */

interface TrustedTypes {
  createPolicy(name: string, rules: { createScriptURL(url: string): string }): { createScriptURL(url: string): string };
}

const OWN = /^\/(sw\.js|assets\/[\w.-]+\.js)$/;

let policy: { createScriptURL(url: string): string } | null = null;

/** The address as the browser wants it; throws TypeError for one that is not of this app. */
export function trustedWorker(url: string): string {
  const factory = (globalThis as { trustedTypes?: TrustedTypes }).trustedTypes;
  if (factory === undefined) return url;
  policy ??= factory.createPolicy("dosebook-worker", {
    createScriptURL(asked) {
      if (!OWN.test(asked)) throw new TypeError("not a worker of this app");
      return asked;
    },
  });
  return policy.createScriptURL(url);
}
