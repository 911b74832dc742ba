import { t } from "../../text";
import { href } from "../route";

/** The way back to the list. */
export const AllProcedures = () => <a class="button quiet" href={href("practice", "procedures")} data-testid="procedures-all">{t.procedures.all}</a>;
