// A tablet that keeps its documents in PouchDB, for `bash deploy/bench sync`: a line of JSON on its
// standard input says what to do, and it answers with a line of JSON {seconds, documents}.
//   {"fill": [documents]}  put documents into its own database (in memory)
//   {"push": url}          replicate what is new to a server, 50 documents a batch
//   {"pull": url}          replicate all that a server has into a new database, 200 a batch
const PouchDB = require("pouchdb-core")
  .plugin(require("pouchdb-adapter-memory"))
  .plugin(require("pouchdb-adapter-http"))
  .plugin(require("pouchdb-replication"));

const own = new PouchDB("own", { adapter: "memory" });
let pulled = 0;

async function act(command) {
  const began = process.hrtime.bigint();
  let documents = 0;
  if (command.fill) {
    const put = await own.bulkDocs(command.fill);
    documents = put.filter((one) => one.ok).length;
  } else if (command.push) {
    const done = await own.replicate.to(command.push, { batch_size: 50 });
    documents = done.docs_written;
  } else {
    pulled += 1;
    const fresh = new PouchDB(`pulled${pulled}`, { adapter: "memory" });
    const done = await fresh.replicate.from(command.pull, { batch_size: 200 });
    documents = done.docs_written;
    await fresh.destroy();
  }
  return { seconds: Number(process.hrtime.bigint() - began) / 1e9, documents };
}

const lines = require("readline").createInterface({ input: process.stdin });
(async () => {
  for await (const line of lines) {
    const answer = await act(JSON.parse(line)).catch((problem) => ({ problem: String(problem) }));
    console.log(JSON.stringify(answer));
  }
})();
