/** A hash router: "#/case/ID" is the list ["case", "ID"]. */
import { signal } from "@preact/signals";

const read = (): string[] => location.hash.replace(/^#\/?/, "").split("/").filter(Boolean).map(decodeURIComponent);

export const route = signal<string[]>(read());

export function watchRoute(): void {
  window.addEventListener("hashchange", () => {
    route.value = read();
    window.scrollTo(0, 0);
  });
}

export function go(...parts: string[]): void {
  location.hash = `#/${parts.map(encodeURIComponent).join("/")}`;
}

export const href = (...parts: string[]): string => `#/${parts.map(encodeURIComponent).join("/")}`;
