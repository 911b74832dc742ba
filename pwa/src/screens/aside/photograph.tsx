import "../../styles/photographs.css";
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { PhotoList, type PhotoShown } from "../../parts/photo";
import { see, type Seen } from "../../session/photographs";
import { t } from "../../text";

/** The photograph that an entry names which was put aside: nobody can decide about what they do not see. */
export function AsidePhotograph({ sha256, caption }: { sha256: string; caption: string }) {
  const w = t.photographs;
  const found = useSignal<Seen | "trouble" | null>(null);
  const large = useSignal(false);
  useEffect(() => {
    let here = true;
    void see(sha256).catch(() => "trouble" as const).then((what) => { if (here) found.value = what; });
    return () => { here = false; };
  }, [sha256]);
  const what = found.value;
  const told = what === null ? w.loading : typeof what === "object" ? w.apartThere : what === "not_there" ? w.notThere
    : what === "no_connection" ? w.noConnection : w.trouble;
  const photo: PhotoShown = {
    id: sha256.slice(0, 12), url: typeof what === "object" && what !== null ? what.url : null, caption: "", label: w.one(1, caption), where: told,
    shape: what === null || what === "not_there" ? "wait" : typeof what === "object" ? "cloud" : "warn",
  };
  return <PhotoList photos={[photo]} large={large.value ? photo.id : null} onLarge={(id) => { large.value = id !== null; }} />;
}
