/** The house's registers where they are shown: a tablet holds them, a desk asks for them. */
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { loadDeskRegisters } from "../session/house";
import { seat } from "../session/state";
import { t } from "../text";

/** True when they are here, null while they are on the way, else what went wrong. */
export function useRegisters(): true | string | null {
  const state = useSignal<true | string | null>(seat.value === "desk" ? null : true);
  useEffect(() => {
    if (seat.value === "desk") loadDeskRegisters().then(() => { state.value = true; }, (error: Error) => { state.value = t.desk.failed(error.message); });
  }, []);
  return state.value;
}
