import { beforeEach, describe, expect, it } from "vitest";
import { BOUNCE_MS, bounced, pressedElsewhere, watchPresses } from "../src/parts/bounce";

/** A click on a control, as the page's listeners see it on its way down. */
class Click extends Event {
  constructor(readonly control: string | null) { super("click"); }
  override get target(): EventTarget {
    const { control } = this;
    return { closest: () => (control === null ? null : { getAttribute: () => control }) } as unknown as EventTarget;
  }
}

describe("presses that follow each other quickly", () => {
  beforeEach(pressedElsewhere);

  it("counts a second press of one control as a bounce for 300 ms", () => {
    expect(bounced("pass", 1000)).toBe(false);
    expect(bounced("pass", 1299)).toBe(true);
    expect(bounced("pass", 1300)).toBe(false);
    // The design of the screens at the chair asks for 300 ms.
    expect(BOUNCE_MS).toBe(300);
  });

  it("does not count bounces as presses: a control cannot be held shut by them", () => {
    bounced("pass", 1000);
    bounced("pass", 1200);
    expect(bounced("pass", 1301)).toBe(false);
  });

  it("lets two controls be pressed at once", () => {
    bounced("pass", 1000);
    expect(bounced("stop", 1050)).toBe(false);
    expect(bounced("pass", 1100)).toBe(false);
  });

  it("takes a press for meant once something else was pressed, or nothing that has a name", () => {
    const page = new EventTarget();
    watchPresses(page);
    for (const elsewhere of ["person-xy", null]) {
      bounced("lock", 1000);
      page.dispatchEvent(new Click("lock"));
      expect(bounced("lock", 1010)).toBe(true);
      page.dispatchEvent(new Click(elsewhere));
      expect(bounced("lock", 1020)).toBe(false);
      pressedElsewhere();
    }
  });
});
