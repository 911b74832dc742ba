/** What a page of the origin can read of this browser's storage, as text, by the place where it lies. */
async () => {
  const read = (bytes) => ["utf-8", "utf-16le", "latin1"].map((form) => new TextDecoder(form).decode(bytes)).join("\n");
  const spell = (value) => {
    if (value instanceof CryptoKey) return "";
    if (value instanceof ArrayBuffer) return read(value);
    if (ArrayBuffer.isView(value)) return read(value);
    if (value === null || typeof value !== "object") return String(value);
    return Object.entries(value).map(([name, inner]) => `${name} ${spell(inner)}`).join("\n");
  };
  const asked = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

  const found = { indexedDB: "", localStorage: "", caches: "", files: "", page: "" };
  const stores = {};
  for (const { name } of await indexedDB.databases()) {
    const database = await asked(indexedDB.open(name));
    for (const store of database.objectStoreNames) {
      const held = database.transaction(store).objectStore(store);
      const [keys, values] = await Promise.all([asked(held.getAllKeys()), asked(held.getAll())]);
      stores[`${name}/${store}`] = values;
      found.indexedDB += spell(keys) + "\n" + spell(values);
    }
    database.close();
  }
  for (const storage of [localStorage, sessionStorage]) found.localStorage += spell({ ...storage });
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      found.caches += `${request.url}\n${await (await cache.match(request)).text()}`;
    }
  }
  const walk = async (folder) => {
    for await (const [name, handle] of folder.entries()) {
      found.files += `${name}\n`;
      if (handle.kind === "directory") await walk(handle);
      else found.files += read(await (await handle.getFile()).arrayBuffer());
    }
  };
  await walk(await navigator.storage.getDirectory());
  found.page = `${location.href}\n${document.documentElement.outerHTML}\n${JSON.stringify(history.state)}`;

  // Whether a key that lies here opens what the server sent, and what was recorded here.
  const ring = stores["house/keys"][0];
  const keys = Object.values(ring).filter((one) => one instanceof CryptoKey && one.usages.includes("decrypt"));
  const opens = async (rows, place) => {
    let count = 0;
    for (const row of rows) {
      for (const key of keys) {
        const how = { name: "AES-GCM", iv: row.iv, additionalData: new TextEncoder().encode(place(row)) };
        await crypto.subtle.decrypt(how, key, row.sealed).then(() => { count += 1; }, () => undefined);
      }
    }
    return { held: rows.length, opened: count };
  };
  return {
    found,
    records: await opens(stores["house/records"], (row) => row.doc_id),
    entries: await opens(stores["outbox/events"], (row) => `${row.tablet_seq}|${row.event_id}`),
  };
}
