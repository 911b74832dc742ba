import { t } from "../../text";
import { href } from "../route";

/** The way back to the list. */
export const AllPresets = () => <a class="button quiet" href={href("practice", "presets")} data-testid="presets-all">{t.presets.all}</a>;
