import "./styles/tokens.css";
import "./styles/base.css";
import "./styles/controls.css";
import "./styles/work.css";
import { render } from "preact";
import { App } from "./screens/app";
import { watchIdle } from "./screens/idle";
import { watchRoute } from "./screens/route";
import { watchForUpdates } from "./screens/update";
import { start } from "./session/state";
import { loadTimer } from "./session/timer";

watchRoute();
watchIdle();
watchForUpdates();
render(<App />, document.getElementById("app")!);
void start().then(loadTimer).catch(() => undefined);
