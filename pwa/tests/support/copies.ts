/** A place for second copies in memory: outlives a lost IndexedDB, and fails on demand. */

import type { CopyFiles, CopyPlace, Name } from "../../src/copy/files";

export class CopyInMemory implements CopyPlace {
  readonly texts = new Map<string, string>();
  /** The next writes fail, as on a full disk. */
  failing = false;

  list(): Promise<string[]> {
    return Promise.resolve([...new Set([...this.texts.keys()].map((key) => key.split("/")[0]!))]);
  }

  read(tablet_id: string, name: Name, bytes?: number): Promise<string> {
    const text = this.texts.get(`${tablet_id}/${name}`) ?? "";
    return Promise.resolve(bytes === undefined ? text : text.slice(-bytes));
  }

  open(tablet_id: string): Promise<CopyFiles> {
    const key = `${tablet_id}/entries`;
    const known = this.texts.get(key) ?? "";
    this.texts.set(key, known === "" || known.endsWith("\n") ? known : `${known}\n`);
    return Promise.resolve({
      append: (name, text) => this.put(`${tablet_id}/${name}`, this.texts.get(`${tablet_id}/${name}`) ?? "", text),
      replace: (name, text) => this.put(`${tablet_id}/${name}`, "", text),
      rewrite: (text) => this.put(key, "", text),
    });
  }

  private put(key: string, before: string, text: string): Promise<void> {
    if (this.failing) return Promise.reject(new DOMException("full", "QuotaExceededError"));
    this.texts.set(key, before + text);
    return Promise.resolve();
  }
}
