import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { may } from "../../session/rights";
import { askBackups, type Backups as Known, type BackupTry } from "../../sync/backups";
import { t } from "../../text";
import { deskWords } from "../desk/papers";
import { href } from "../route";
import { Last, Restored } from "./parts";

/** Whether there is a backup to go back to, and after a restore what has come back. */
export function Backups() {
  const found = useSignal<Known | null>(null);
  const wrong = useSignal<string | null>(null);
  const w = t.backups;
  const load = async () => {
    try {
      found.value = await askBackups();
      wrong.value = null;
    } catch (error) {
      wrong.value = deskWords(error);
    }
  };
  useEffect(() => { void load(); }, []);
  if (!may("backup.read")) return <div class="page"><h1>{w.title}</h1><p>{t.desk.notAllowed}</p></div>;
  const known = found.value;
  return (
    <div class="page">
      <div class="row spread"><h1>{w.title}</h1><Press id="backups-refresh" onPress={() => void load()}>{t.desk.refresh}</Press></div>
      <p class="soft">{w.lead}</p>
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {known === null ? <p role="status">{t.common.loading}</p> : (
        <>
          <Last known={known} />
          {known.restored ? <Restored restored={known.restored} /> : null}
          <section class="sheet" aria-label={w.tries}>
            <h2>{w.tries}</h2>
            {known.tries.length === 0 ? <p>{w.none}</p>
              : <ul class="list" data-testid="backup-tries">{known.tries.map((one) => <Try key={one.backup_id} one={one} />)}</ul>}
          </section>
        </>
      )}
      <section class="sheet" aria-label={w.how}>
        <h2>{w.how}</h2>
        {w.howLines.map((line) => <p class="small" key={line}>{line}</p>)}
      </section>
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function Try({ one }: { one: BackupTry }) {
  const w = t.backups;
  const reasons: Readonly<Record<string, string>> = w.problems;
  return (
    <li class="item"><span class="grow">
      <Mark shape={one.verified_at ? "done" : "warn"}>{momentText(one.made_at)}</Mark>
      <span class="small">{one.verified_at ? w.verified(one.position ?? 0) : reasons[one.problem ?? ""] ?? w.failed(one.problem ?? "")}</span>
    </span></li>
  );
}
