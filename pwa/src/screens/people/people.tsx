import { Notice } from "../../parts/basics";
import { anybody } from "../../session/people";
import { may } from "../../session/rights";
import { t } from "../../text";
import { useRegisters } from "../registers";
import { CredentialForm } from "./credential";
import { EditPerson } from "./edit";
import { Elsewhere } from "./elsewhere";
import { EndWork } from "./end";
import { PeopleList } from "./list";
import { OnePerson } from "./one";
import { ScopeForm } from "./scope";

/** The people of this location: all of them, one of them, or saying something new of one. */
export function People({ person_id, mode }: { person_id: string | null; mode: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const writes = may("people.write");
  if (person_id === "new" && writes) return <EditPerson person={null} />;
  if (person_id === "elsewhere" && may("location.write")) return <Elsewhere key={mode ?? ""} person_id={mode} />;
  const person = person_id === null ? null : anybody(person_id);
  if (person === null) return <PeopleList />;
  if (mode === "change" && writes) return <EditPerson key={person.person_id} person={person} />;
  if (mode === "end" && writes && !person.left_at) return <EndWork key={person.person_id} person={person} />;
  if (may("operator.write") && !person.left_at) {
    if (mode === "scope") return <ScopeForm key={person.person_id} person={person} />;
    if (mode?.startsWith("credential")) return <CredentialForm key={mode} person={person} credential_id={mode.replace(/^credential-?/, "") || null} />;
  }
  return <OnePerson key={person.person_id} person={person} />;
}
