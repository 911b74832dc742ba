// Run in the page by many.py: the entries of one signed procedure, and the server's record of it,
// become `count` of each, sealed with the tablet's own keys. The view key [base64url] comes with it:
// on the tablet it lies under PINs only.
async ([chart, count, view_key]) => {
  const open = (name) => new Promise((done, failed) => {
    const asked = indexedDB.open(name);
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  const got = (request) => new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  const finished = (transaction) => new Promise((done, failed) => {
    transaction.oncomplete = done;
    transaction.onerror = transaction.onabort = () => failed(transaction.error);
  });
  const STARTED = /"started_at":"[^"]*"/;
  const utf8 = (text) => new TextEncoder().encode(text);
  const house = await open("house"), outbox = await open("outbox");
  const view = await crypto.subtle.importKey("raw",
    Uint8Array.from(atob(view_key.replace(/-/g, "+").replace(/_/g, "/")), (one) => one.charCodeAt(0)),
    "AES-GCM", false, ["encrypt", "decrypt"]);
  const ring = await got(house.transaction("keys").objectStore("keys").get("ring"));
  const unseal = async (key, place, row) => JSON.parse(
    new TextDecoder().decode(await crypto.subtle.decrypt(
      { name: "AES-GCM", iv: row.iv, additionalData: utf8(place) }, key, row.sealed)));
  const seal = async (key, place, value) => {
    const iv = crypto.getRandomValues(new Uint8Array(12));
    return { iv, sealed: await crypto.subtle.encrypt(
      { name: "AES-GCM", iv, additionalData: utf8(place) }, key, utf8(JSON.stringify(value))) };
  };
  const rows = await got(outbox.transaction("events").objectStore("events").getAll());
  const items = [];
  for (const row of rows) {
    const { item } = await unseal(ring.seal, `${row.tablet_seq}|${row.event_id}`, row);
    items.push({ row, item, body: JSON.parse(item.body) });
  }
  const own = items.find(({ body, item }) =>
    body.type === "procedure.opened" && JSON.parse(item.payload).patient.chart_number === chart);
  const record_id = own.body.entity_id;
  const entries = items.filter(({ body }) => body.entity_id === record_id);
  const stored = await got(house.transaction("records").objectStore("records").getAll());
  let model = null;
  for (const row of stored) {
    const doc = await unseal(view, row.doc_id, row);
    if (doc.record_id === record_id) model = { row, text: JSON.stringify(doc) };
  }
  let seq = Math.max(...rows.map((row) => row.tablet_seq));
  const other = (id, n) => id.slice(0, 19) + n.toString(16).padStart(4, "0") + id.slice(23);
  for (let from = 1; from <= count; from += 100) {
    const events = [], records = [];
    for (let n = from; n < Math.min(from + 100, count + 1); n += 1) {
      const ms = Date.parse(own.body.occurred_at) - n * 3_600_000;
      const begun = new Date(ms).toISOString().replace("Z", "+00:00");
      const moved = (text) => entries
        .reduce((all, { body }) => all.replaceAll(body.event_id, other(body.event_id, n)), text)
        .replaceAll(record_id, other(record_id, n)).replaceAll(`"${chart}"`, `"${chart}-${n}"`);
      for (const { row, item } of entries) {
        seq += 1;
        const event_id = other(row.event_id, n);
        const body = JSON.stringify({ ...JSON.parse(moved(item.body)), tablet_seq: seq });
        const payload = moved(item.payload).replace(STARTED, `"started_at":"${begun}"`);
        events.push({ tablet_seq: seq, event_id, saved_at: row.saved_at, state: "settled",
          result: { event_id, tablet_seq: seq, outcome: "applied", position: seq },
          ...(await seal(ring.seal, `${seq}|${event_id}`, {
            item: { ...item, event_id, tablet_seq: seq, body, payload }, record_id: other(record_id, n),
          })) });
      }
      // As many again that other tablets recorded and the server sent here.
      const doc_id = other(record_id, n + 0x8000);
      const elsewhere = moved(model.text).replaceAll(other(record_id, n), doc_id)
        .replace(STARTED, `"started_at":"${begun}"`);
      records.push({ doc_id, kind: "record", position: 1_000_000 + n, under: "view",
        ...(await seal(view, doc_id, JSON.parse(elsewhere))) });
    }
    const writing = outbox.transaction(["events", "writer"], "readwrite");
    for (const row of events) writing.objectStore("events").put(row);
    writing.objectStore("writer").put({ next: seq + 1 }, "seq");
    const keeping = house.transaction("records", "readwrite");
    for (const row of records) keeping.objectStore("records").put(row);
    await Promise.all([finished(writing), finished(keeping)]);
  }
  house.close();
  outbox.close();
  return entries.length;
}
