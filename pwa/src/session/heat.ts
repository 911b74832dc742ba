/** The simulation of heat, worked out beside the screen. */
import workerAddress from "../dose/heat_worker?worker&url";
import type { HeatAnswer } from "../dose/heat_worker";
import { trustedWorker } from "../events/trusted";

export type { HeatAnswer } from "../dose/heat_worker";
export type { HeatResponse } from "../dose/heat";

export interface Asked {
  answer: Promise<HeatAnswer>;
  /** Leave the work: the answer is not wanted any more and never comes. */
  leave: () => void;
}

/** Ask for a simulation of a dose request over a time such as "1 s". */
export function simulated(request: object, duration: string): Asked {
  const worker = new Worker(trustedWorker(workerAddress), { type: "module" });
  const leave = (): void => worker.terminate();
  const answer = new Promise<HeatAnswer>((done, failed) => {
    worker.onmessage = ({ data }: MessageEvent<HeatAnswer>) => {
      leave();
      done(data);
    };
    worker.onerror = (event) => {
      leave();
      failed(new Error(event.message));
    };
  });
  worker.postMessage({ ...request, duration });
  return { answer, leave };
}
