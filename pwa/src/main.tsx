import "./styles/tokens.css";
import "./styles/base.css";
import "./styles/controls.css";
import "./styles/work.css";
import "./styles/lists.css";
import { effect } from "@preact/signals";
import { render } from "preact";
import { watchPresses } from "./parts/bounce";
import { showTimesIn } from "./parts/dates";
import { App } from "./screens/app";
import { watchBars } from "./screens/bars";
import { takeOfferedCode } from "./screens/door/offered";
import { followChoices } from "./screens/choices";
import { watchDesk } from "./screens/desk-idle";
import { watchTyping } from "./screens/kept-typing";
import { watchIdle } from "./screens/idle";
import { watchRoute } from "./screens/route";
import { watchTyped } from "./screens/typed";
import { watchForUpdates } from "./screens/update";
import { watchLeaving } from "./session/leaving";
import { watchPlaces } from "./session/places";
import { seat, start, zone } from "./session/state";
import { loadTimer } from "./session/timer";

effect(() => showTimesIn(zone.value));
takeOfferedCode();
watchRoute();
watchIdle();
watchDesk();
watchBars();
watchPresses(document);
watchForUpdates();
watchLeaving();
watchPlaces();
watchTyped();
watchTyping();
// Words that cannot be had stay English; the app opens all the same.
void followChoices().then(() => render(<App />, document.getElementById("app")!));
void start().then(loadTimer).catch(() => {
  // Storage that cannot be opened is said, not left as a page that never stops opening.
  if (seat.value === "starting") seat.value = "broken";
});
