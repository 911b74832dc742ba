// Write each built text file a second and third time, packed, for the server to hand out:
// `node scripts/compress.mjs FOLDER`, after the build.
import { readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";

const TEXT = /\.(js|css|html|svg|webmanifest)$/;
/** Below this [bytes] a packed file saves no packet. */
const WORTH = 1000;

function pack(folder) {
  for (const name of readdirSync(folder)) {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) pack(path);
    else if (TEXT.test(name) && statSync(path).size > WORTH) {
      const plain = readFileSync(path);
      writeFileSync(`${path}.gz`, gzipSync(plain, { level: 9 }));
      writeFileSync(`${path}.br`, brotliCompressSync(plain, { params: { [constants.BROTLI_PARAM_SIZE_HINT]: plain.length } }));
    }
  }
}

pack(process.argv[2] ?? "dist");
