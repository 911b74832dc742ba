import { nowText } from "../../events/times";
import { Mark, Notice, Press } from "../../parts/basics";
import { dateText } from "../../parts/dates";
import { Choice, TextField, Wrong } from "../../parts/fields";
import type { DeviceKind } from "../../session/check-verdict";
import { noteCheck } from "../../session/house_checks";
import { houseZone, listFor } from "../../session/house_lists";
import type { Given } from "../../session/lists";
import { person, seat, writing } from "../../session/state";
import type { Device, ListItem } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { MomentField } from "../case/moment";
import { Board } from "../lists/board";
import type { Answers } from "../lists/answers";
import { localOf } from "../moment-text";
import { go, href } from "../route";
import { offerUndo, UndoSlot } from "../undo";
import { begunDraft, complete, doneAt, fresh, stale, toCheck, verdictOf, type Begun } from "./begun";
import { Beside } from "./beside";
import { checkBoardWords } from "./words";

/**
 * One list about one laser, item by item. What is answered is kept at every tap, and comes back
 * after a lock, a reload or a crash, for whoever goes on with it.
 */
export function AnswerCheck({ device, kind }: { device: Device; kind: DeviceKind }) {
  const kept = begunDraft(device.device_id, kind);
  if (!kept.ready.value) return <div class="page"><p role="status">{t.common.loading}</p></div>;
  const asked = listFor(kind, Date.now());
  const begun = kept.value.value ?? (asked && fresh(asked));
  if (!begun) return <NoList kind={kind} device={device} />;
  const { answers, version } = begun;
  const now = (): Begun => kept.value.value ?? begun;
  const put = (item: ListItem, change: Partial<Answers[string]>) => {
    const { answers: all, ...rest } = now();
    kept.set({ ...rest, answers: { ...all, [item.item_id]: { ...all[item.item_id]!, ...change } } });
  };
  const again = (item: ListItem) => {
    const { [item.item_id]: _gone, ...rest } = now().answers;
    kept.set({ ...now(), answers: rest });
  };
  const give = (item: ListItem, answer: Given) => {
    const before = now().answers[item.item_id];
    if (before?.answer === answer) return;
    put(item, { answer, answered_at: nowText(), by: person.value!.person_id, note: null, typed: before?.typed ?? "", later: false });
    offerUndo(t.lists.answered(t.checks.answers[answer] ?? answer, item.text), async () => again(item));
  };
  const finish = () => void attempt(async () => {
    const said = toCheck(now(), device.device_id, kind, nowText(), houseZone());
    if (!said) throw new Error(t.checks.earlierWrong);
    await noteCheck(said, begun.key);
  }).then((done) => {
    if (!done) return;
    kept.clear();
    go("practice", "checks", device.device_id);
  });
  const passes = complete(begun) && verdictOf(begun, kind) === "passed";
  const untimed = doneAt(begun, nowText(), houseZone()) === null;
  return (
    <div class="page case">
      <p class="small soft" data-testid="check-of">{device.label} · {t.checks.kinds[kind]}</p>
      {stale(begun, Date.now(), houseZone()) ? (
        <Notice shape="warn" id="check-old"><p>{t.checks.old(dateText(begun.begun_at))}</p>
          <Press id="check-anew" onPress={() => kept.clear()}>{t.checks.beginAnew}</Press></Notice>
      ) : null}
      {asked && asked.list_id === begun.list_id && asked.version.version !== version.version
        ? <Notice calm id="check-newer"><p class="small">{t.lists.startedWith(version.version, asked.version.version)}</p></Notice> : null}
      <Board id="check" list={version} answers={answers} bar={seat.value !== "desk"} lead={t.checks.lead2}
        words={checkBoardWords()}
        beside={(item) => <Beside item={item} device_id={device.device_id} />}
        answer={give} again={again} type={(item, typed) => put(item, { typed })}
        reason={(item) => put(item, { note: now().answers[item.item_id]!.typed.trim() })}
        later={(item) => put(item, { later: true })}
        slot={<UndoSlot><Press id="check-drop" kind="quiet" onPress={() => go("practice", "checks", device.device_id)}>{t.checks.drop}</Press></UndoSlot>}
        summary={<Summary begun={begun} passes={passes} set={(change) => kept.set({ ...now(), ...change })} untimed={untimed} />}
        finish={<Press id="check-finish" kind="main" large disabled={untimed || busy.value || !writing.value} onPress={finish}>
          {passes ? t.checks.finishPassed : t.checks.finishFailed}</Press>} />
    </div>
  );
}

/** What the answers come to, when it was done, and a note. */
function Summary({ begun, passes, untimed, set }: { begun: Begun; passes: boolean; untimed: boolean; set: (change: Partial<Begun>) => void }) {
  const w = t.checks;
  const failed = Object.values(begun.answers).filter(({ answer }) => answer === "no").length;
  return (
    <>
      {passes ? <Mark shape="done" id="check-passes">{w.passes}</Mark> : <Mark shape="stop" id="check-fails">{w.fails(failed)}</Mark>}
      <Choice id="check-when" legend={w.when} across value={begun.earlier === null ? "now" : "earlier"}
        options={[{ value: "now", text: w.now }, { value: "earlier", text: w.earlier }]}
        onChange={(when) => set({ earlier: when === "now" ? null : begun.earlier ?? localOf(begun.begun_at) })} />
      {begun.earlier === null && untimed ? <Wrong id="check-now-wrong">{w.notNow}</Wrong> : null}
      {begun.earlier !== null ? (
        <>
          <MomentField id="check-earlier" label={w.earlierAt} value={begun.earlier} onChange={(earlier) => set({ earlier })} />
          <p class="small soft">{w.earlierHint}</p>
          {untimed ? <Wrong id="check-earlier-wrong">{w.earlierWrong}</Wrong> : null}
        </>
      ) : null}
      <TextField id="check-note" label={w.note} hint={w.noteHint} long spell max={1000} value={begun.note} onChange={(note) => set({ note })} />
    </>
  );
}

function NoList({ kind, device }: { kind: DeviceKind; device: Device }) {
  return (
    <section class="page narrow">
      <h1>{t.checks.kinds[kind]}</h1>
      <Notice shape="warn" id="check-none"><p>{t.checks.noList}</p><p class="small">{t.checks.noListMore}</p></Notice>
      <a class="button" href={href("practice", "lists")}>{t.checks.toLists}</a>
      <a class="button quiet" href={href("practice", "checks", device.device_id)}>{t.checks.of(device.label)}</a>
    </section>
  );
}
