import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { Glyph, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { takes, type Given } from "../../session/lists";
import type { ListItem, ListVersion } from "../../session/types";
import { t } from "../../text";
import { counted, current, lacksReason, othersOpen, type Answers } from "./answers";

export interface BoardActions {
  answer: (item: ListItem, given: Given) => void;
  type: (item: ListItem, text: string) => void;
  reason: (item: ListItem) => void;
  later: (item: ListItem) => void;
  again: (item: ListItem) => void;
}

export interface BoardWords {
  answers: Record<string, string>;
  /** What is asked of whoever answers with "no". */
  reason: string;
  counts: (yes: number, no: number, na: number) => string;
}
const plainWords = (): BoardWords => ({ answers: t.lists.answers, reason: t.lists.reasonNo, counts: t.lists.counts });

interface BoardProps extends BoardActions {
  /** What the test ids begin with. */
  id: string;
  list: ListVersion;
  lead: string;
  answers: Answers;
  /** Where the answers stand: in the bar at the foot of the window, or under the question. */
  bar: boolean;
  /** Above the items: what was just done, with its undo. */
  slot?: ComponentChildren;
  /** Beside the sum of the answers once all are given. */
  summary?: ComponentChildren;
  /** In place of the answers once all are given. */
  finish: ComponentChildren;
  /** Under the question, where the item asks for something to be shown beside it. */
  beside?: (item: ListItem) => ComponentChildren;
  /** What the three answers are called here; without it they are yes, no and not applicable. */
  words?: BoardWords;
}

const GIVEN: readonly { given: Given; id: string }[] = [
  { given: "yes", id: "yes" }, { given: "no", id: "no" }, { given: "not applicable", id: "na" },
];

/**
 * A list item by item. The three answers stay in one place, so that one tap answers one item and
 * the eyes stay on the question; there is no answer for all at once, since each answer is a claim.
 */
export function Board(props: BoardProps) {
  const { id, list, answers, bar } = props;
  const foot = useRef<HTMLDivElement>(null);
  const item = current(list.items, answers);
  const asksReason = item !== null && lacksReason(item, answers);
  useEffect(() => {
    // What had the focus went away with its question: go on from the answers.
    if (!asksReason && document.activeElement === document.body) foot.current?.querySelector("button")?.focus({ preventScroll: true });
  }, [item === null, asksReason]);
  const given = item ? answers[item.item_id] : undefined;
  const first = Object.keys(answers).length === 0;
  return (
    <section class="stack" data-testid={id}>
      <div class="row spread base">
        <h1 class="h2">{list.title}</h1>
        <span data-testid={`${id}-progress`}>{t.lists.of(Object.keys(answers).length, list.items.length)}</span>
      </div>
      {item ? (
        <div class="sheet ask-sheet">
          {item.group || first ? <p class="small soft">{item.group ?? props.lead}</p> : null}
          <p class="ask" data-testid={`${id}-question`} aria-live="polite">{item.text}</p>
          {item.why ? <p class="small soft" data-testid={`${id}-why`}>{item.why}</p> : null}
          {asksReason ? null : props.beside?.(item)}
          {asksReason ? <Reason {...props} item={item} typed={given!.typed} /> : null}
        </div>
      ) : (
        <div class="sheet" data-testid={`${id}-all`}>
          <p class="strong">{t.lists.allAnswered(list.items.length)}</p>
          <Counts answers={answers} words={props.words} />
          {props.summary}
        </div>
      )}
      <div ref={foot} class={bar ? "foot answers" : "answers-here answers"}>
        {item ? GIVEN.map((one) => (
          <Press key={one.id} id={`${id}-${one.id}`} large kind={one.given === "yes" && !given ? "main" : "plain"}
            pressed={given?.answer === one.given} disabled={!takes(item, one.given)}
            onPress={() => props.answer(item, one.given)}>
            {given?.answer === one.given ? <Glyph shape="done" /> : null}{(props.words ?? plainWords()).answers[one.given]}</Press>
        )) : props.finish}
      </div>
      {props.slot}
      <ul class="list">
        {list.items.map((one) => <Line key={one.item_id} id={id} item={one} answers={answers} here={one === item} words={props.words ?? plainWords()} onAgain={() => props.again(one)} />)}
      </ul>
    </section>
  );
}

function Reason({ id, item, typed, list, answers, type, reason, later, words }: BoardProps & { item: ListItem; typed: string }) {
  const no = answers[item.item_id]?.answer === "no";
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); if (typed.trim()) reason(item); }}>
      <TextField id={`${id}-note`} label={t.lists.reason} hint={no ? (words ?? plainWords()).reason : t.lists.reasonNa} value={typed}
        onChange={(text) => type(item, text)} max={500} spell focus />
      <div class="row">
        <Press id={`${id}-note-save`} disabled={!typed.trim()} onPress={() => reason(item)}>{t.lists.keepReason}</Press>
        {othersOpen(list.items, answers) ? <Press id={`${id}-note-later`} kind="quiet" onPress={() => later(item)}>{t.lists.reasonLater}</Press> : null}
      </div>
    </form>
  );
}

function Line({ id, item, answers, here, words, onAgain }: { id: string; item: ListItem; answers: Answers; here: boolean; words: BoardWords; onAgain: () => void }) {
  const given = answers[item.item_id];
  const missing = lacksReason(item, answers);
  const word = given ? words.answers[given.answer] ?? given.answer : "";
  return (
    <li class="item" data-testid={`${id}-item`} aria-current={here ? "step" : undefined}>
      <span class="grow small"><span>{item.text}</span>
        {given?.note ? <span class="soft">{given.note}</span> : null}
        {missing ? <span class="strong"><Glyph shape="warn" /> {t.lists.reasonMissing}</span> : null}</span>
      {given
        ? <Press id={`${id}-again-${item.item_id}`} label={t.lists.again(item.text, word)} onPress={onAgain}>
            <Glyph shape={given.answer === "yes" ? "done" : given.answer === "no" ? "stop" : "off"} />{word}</Press>
        : here ? <Glyph shape="turn" /> : null}
    </li>
  );
}

export function Counts({ answers, words }: { answers: Answers; words?: BoardWords | undefined }) {
  const n = counted(answers);
  return <p class="small" data-testid="answer-counts">{(words ?? plainWords()).counts(n.yes, n.no, n["not applicable"])}</p>;
}
