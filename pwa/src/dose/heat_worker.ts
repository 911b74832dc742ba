// The simulation beside the screen: a heat request in, its answer or its refusal out.
import { BadInput, type FieldErrors } from "./errors";
import { type HeatResponse, respond } from "./heat";
import type { HeatRequest } from "./schema";

export type HeatAnswer =
  | { ok: true; response: HeatResponse }
  | { ok: false; errors: FieldErrors };

function answer(request: HeatRequest): HeatAnswer {
  try {
    return { ok: true, response: respond(request) };
  } catch (problem) {
    if (!(problem instanceof BadInput)) throw problem;
    return { ok: false, errors: problem.errors };
  }
}

self.onmessage = ({ data }: MessageEvent<HeatRequest>) => self.postMessage(answer(data));
