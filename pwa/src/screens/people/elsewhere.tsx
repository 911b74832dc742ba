import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Notice, Press } from "../../parts/basics";
import { TextField, Tick } from "../../parts/fields";
import { draft } from "../../session/draft";
import { loadDeskRegisters } from "../../session/house";
import { person as signedIn, place } from "../../session/state";
import { joinPerson, peopleElsewhere, type KnownElsewhere } from "../../sync/places";
import { t } from "../../text";
import { attempt, busy, words } from "../attempt";
import { go, href } from "../route";
import { PersonFields } from "./fields";
import { personForm, personWrong, type PersonForm } from "./form";
import { rolesText, today } from "./words";

/** Somebody who already works at another location that one looks after: whom, then as what. */
export function Elsewhere({ person_id }: { person_id: string | null }) {
  const people = useSignal<KnownElsewhere[] | null>(null);
  const failed = useSignal<string | null>(null);
  useEffect(() => { peopleElsewhere().then((list) => { people.value = list; }, (error: unknown) => { failed.value = words(error); }); }, []);
  if (failed.value) return <div class="page"><h1>{t.people.elsewhere.title}</h1><Notice shape="warn" live><p>{failed.value}</p></Notice></div>;
  if (people.value === null) return <p class="page" role="status">{t.common.loading}</p>;
  const known = people.value.find((one) => one.person_id === person_id);
  return known ? <Join known={known} /> : <Known people={people.value} />;
}

function Known({ people }: { people: readonly KnownElsewhere[] }) {
  const w = t.people.elsewhere;
  const wanted = useSignal("");
  const like = wanted.value.trim().toLowerCase();
  const found = people.filter((one) => `${one.display_name} ${one.initials}`.toLowerCase().includes(like));
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      {people.length === 0 ? <p data-testid="elsewhere-none">{w.none}</p> : (
        <>
          <TextField id="elsewhere-search" kind="search" label={w.search} value={wanted.value} max={100} onChange={(text) => { wanted.value = text; }} />
          {found.length === 0 ? <p role="status">{w.noneLike}</p> : null}
          <ul class="list">{found.map((one) => (
            <li key={one.person_id}><a class="item" href={href("practice", "people", "elsewhere", one.person_id)} data-testid="elsewhere-row">
              <span class="grow"><span class="strong">{one.display_name} <span class="soft">({one.initials})</span></span>
                {one.locations.map((at) => <span class="small" key={at.location_id}>{w.at(at.name, rolesText(at.roles))}</span>)}</span>
              <Glyph shape="turn" /></a></li>))}</ul>
        </>
      )}
      <a class="button quiet" href={href("practice", "people")}>{t.people.all}</a>
    </div>
  );
}

function Join({ known }: { known: KnownElsewhere }) {
  const w = t.people.elsewhere;
  const kept = draft<(PersonForm & { along: boolean }) | null>(`join:${signedIn.value!.person_id}:${place.value?.location_id ?? ""}:${known.person_id}`, null);
  const tried = useSignal(false);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? {
    ...personForm(null), id: known.person_id, name: known.display_name, initials: known.initials, credential: known.credential ?? "", along: true,
  };
  const set = (part: Partial<typeof form>) => kept.set({ ...form, ...part, key: personForm(null).key });
  const wrong = personWrong(form, today());
  const back = (...to: string[]) => { kept.clear(); go("practice", "people", ...to); };
  const save = () => {
    tried.value = true;
    if (Object.keys(wrong).length > 0) return;
    void attempt(async () => {
      await joinPerson(known.person_id, {
        display_name: form.name.trim(), initials: form.initials.trim(), roles: form.roles, credential: form.credential.trim() || null,
        auditor_until: form.roles.includes("auditor") ? form.until || null : null, with_credentials: form.along && known.credentials > 0,
      }, form.key);
      await loadDeskRegisters().catch(() => undefined);
    }).then((done) => { if (done) back(known.person_id); });
  };
  return (
    <form class="page narrow" onSubmit={(e) => { e.preventDefault(); save(); }}>
      <h1>{w.joinTitle(known.display_name)}</h1>
      <p class="soft">{known.locations.map((at) => w.at(at.name, rolesText(at.roles))).join("; ")}</p>
      <Notice shape="note"><p>{w.joinLead}</p></Notice>
      <PersonFields form={form} set={set} wrong={tried.value ? wrong : {}} />
      {known.credentials > 0 ? <Tick id="join-credentials" checked={form.along} onChange={(along) => set({ along })}>
        <span>{w.along(known.credentials)}</span><span class="under">{w.alongMore}</span></Tick> : null}
      <div class="row">
        <Press id="join-save" kind="main" large disabled={busy.value} onPress={save}>{w.save}</Press>
        <Press id="join-drop" kind="quiet" onPress={() => back("elsewhere")}>{t.people.drop}</Press>
      </div>
    </form>
  );
}
