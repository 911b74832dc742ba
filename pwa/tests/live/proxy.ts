/**
 * A proxy of raw bytes on the loopback address, in the way of one tablet, that does to each request
 * what it is told: cuts it or its answer anywhere, sends it twice or again later, answers in the
 * server's place as a gateway, a captive portal or a broken cache would.
 */

import { connect, createServer, type AddressInfo, type Server, type Socket } from "node:net";

export type Fault =
  | { kind: "whole" }
  | { kind: "cut request"; share: number } | { kind: "cut reply"; share: number } | { kind: "cut reply at"; bytes: number }
  | { kind: "twice" } | { kind: "again later" } | { kind: "drip"; bytes: number }
  /** An answer that never reached the server, or one in place of the server's own. */
  | { kind: "instead"; answer: Answer } | { kind: "after"; answer: Answer }
  | { kind: "half the text"; share: number } | { kind: "half the results" } | { kind: "of another type"; type: string };

export interface Answer { status: number; type: string; body: string; headers?: string }

export class FaultProxy {
  /** What is done to the next requests, one each; then nothing. */
  readonly plan: Fault[] = [];
  /** How many bytes each answer had that came through to its end. */
  readonly sizes: number[] = [];
  met: Record<string, number> = {};
  private late: Buffer | null = null;
  private readonly server: Server;

  constructor(private readonly target: URL) {
    this.server = createServer((client) => {
      client.on("error", () => undefined);
      void this.pass(client).catch(() => client.destroy());
    });
  }

  async listen(): Promise<string> {
    await new Promise<void>((done) => this.server.listen(0, "127.0.0.1", done));
    return `http://127.0.0.1:${(this.server.address() as AddressInfo).port}`;
  }

  close(): void {
    this.server.close();
  }

  private async pass(client: Socket): Promise<void> {
    const request = await wholeRequest(client);
    if (request === null) return;
    const fault = this.plan.shift() ?? { kind: "whole" };
    this.met[fault.kind] = (this.met[fault.kind] ?? 0) + 1;
    if (this.late !== null && fault.kind !== "again later") {
      // What was sent long ago arrives once more, after what came since.
      const late = this.late;
      this.late = null;
      await this.ask(late);
    }
    if (fault.kind === "cut request") {
      await this.ask(request.subarray(0, Math.floor(fault.share * request.length)), true);
      client.destroy();
      return;
    }
    if (fault.kind === "instead") {
      client.end(written(fault.answer));
      return;
    }
    if (fault.kind === "twice") await Promise.all([this.ask(request), this.ask(request)]);
    const reply = await this.ask(request);
    if (fault.kind === "again later") this.late = request;
    if (fault.kind === "cut reply" || fault.kind === "cut reply at") {
      const bytes = fault.kind === "cut reply" ? Math.floor(fault.share * reply.length) : fault.bytes;
      this.sizes.push(reply.length);
      client.write(reply.subarray(0, bytes), () => client.destroy());
    } else if (fault.kind === "after") client.end(written(fault.answer));
    else if (fault.kind === "drip") {
      for (let at = 0; at < reply.length; at += fault.bytes) {
        client.write(reply.subarray(at, at + fault.bytes));
        await new Promise<void>((done) => { setImmediate(done); });
      }
      client.end();
    } else client.end(changed(reply, fault));
  }

  /** Send bytes to the server and return all that it answers; ``let_go`` without waiting for it. */
  private ask(request: Buffer, let_go = false): Promise<Buffer> {
    return new Promise((done) => {
      const parts: Buffer[] = [];
      const server = connect({ host: this.target.hostname, port: Number(this.target.port) });
      server.on("error", () => done(Buffer.concat(parts)));
      server.on("data", (part: Buffer) => parts.push(part));
      server.on("close", () => done(Buffer.concat(parts)));
      if (let_go) server.write(request, () => { server.destroy(); });
      else server.write(request);
    });
  }
}

/** Read one request to its end, and have the server close the line after its answer. */
async function wholeRequest(client: Socket): Promise<Buffer | null> {
  let got = Buffer.alloc(0);
  for await (const part of client.iterator({ destroyOnReturn: false }) as AsyncIterable<Buffer>) {
    got = Buffer.concat([got, part]);
    const end = got.indexOf("\r\n\r\n");
    if (end < 0) continue;
    const head = got.subarray(0, end).toString("latin1");
    const length = Number(/^content-length: (\d+)$/im.exec(head)?.[1] ?? 0);
    if (got.length < end + 4 + length) continue;
    const closing = `${head.replace(/^connection: .*\r\n/im, "")}\r\nConnection: close\r\n\r\n`;
    return Buffer.concat([Buffer.from(closing, "latin1"), got.subarray(end + 4)]);
  }
  return null;
}

const written = ({ status, type, body, headers = "" }: Answer): Buffer => Buffer.from(
  `HTTP/1.1 ${status} X\r\nContent-Type: ${type}\r\nContent-Length: ${Buffer.byteLength(body)}\r\n${headers}Connection: close\r\n\r\n${body}`);

/** An answer that is whole as HTTP goes, and not what the server said. */
function changed(reply: Buffer, fault: Fault): Buffer {
  const end = reply.indexOf("\r\n\r\n");
  if (end < 0) return reply;
  const [head, text] = [reply.subarray(0, end).toString("latin1"), reply.subarray(end + 4).toString()];
  const status = Number(head.split(" ")[1]);
  if (fault.kind === "of another type") return written({ status, type: fault.type, body: text });
  if (fault.kind === "half the text") {
    return written({ status, type: "application/json", body: text.slice(0, Math.floor(fault.share * text.length)) });
  }
  if (fault.kind === "half the results") {
    try {
      const said = JSON.parse(text) as { results?: unknown[] };
      if (Array.isArray(said.results)) said.results = said.results.slice(0, said.results.length >> 1);
      return written({ status, type: "application/json", body: JSON.stringify(said) });
    } catch {
      return reply;
    }
  }
  return reply;
}
