"""The plan as an operator makes it: numbers by keys, a spot from its optics, two settings compared.

Expected numbers are worked out by hand beside each test.
"""

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts, looking

OPERATOR = "placeholder"
ALWAYS_ONLINE = True


@pytest.fixture
def plan(server, tablet: Page) -> Page:
    """A tablet on whose plan screen the preset "Frenum, fine" was taken over."""
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    tablet.get_by_test_id("nav-plan").click()
    tablet.get_by_test_id("preset").filter(has_text="Frenum, fine").click()
    expect(tablet.get_by_test_id("dose-panel")).to_be_visible()
    return tablet


def by_lens(page: Page) -> None:
    """State the spot by a lens: f 100 mm, 6 mm beam, M2 1.1."""
    page.get_by_test_id("spot-more-open").click()
    page.get_by_test_id("spot-form-lens").check()
    page.get_by_test_id("spot-more-open").click()
    for name, text in (
        ("focal-length", "100"),
        ("beam-diameter-at-lens", "6"),
        ("beam-quality-m2", "1.1"),
    ):
        page.get_by_test_id(f"plan-{name}").fill(text)


def test_numbers_are_entered_by_large_keys(plan: Page):
    power = plan.get_by_test_id("plan-power")
    power.click()
    expect(plan.get_by_test_id("plan-power-keys")).to_be_visible()
    wrong = looking.look(plan, "plan with keys")
    # What was there is selected, so the first key writes over it; at the second opening, too.
    for text, closes in (("7", "keys-done"), ("8", "unit-open")):
        plan.get_by_test_id(f"plan-power-key-{text}").click()
        expect(power).to_have_value(text)
        plan.get_by_test_id(f"plan-power-{closes}").click()
        expect(plan.get_by_test_id("plan-power-keys")).to_have_count(0)
        power.click()
    for key in ("key-1", "key-2", "key-back", "key-mark", "key-5"):
        plan.get_by_test_id(f"plan-power-{key}").click()
    expect(power).to_have_value("1.5")
    expect(plan.get_by_test_id("plan-power-said")).to_contain_text("Read as 1.5\u00a0W")
    plan.get_by_test_id("plan-power-unit-mw").check()
    expect(plan.get_by_test_id("plan-power-said")).to_contain_text("Read as 1.5\u00a0mW")
    expect(plan.get_by_test_id("plan-use")).to_be_disabled()
    plan.get_by_test_id("plan-power-key-clear").click()
    expect(power).to_have_value("")
    plan.get_by_test_id("plan-power-unit-w").check()
    plan.get_by_test_id("plan-power-key-3").click()
    plan.get_by_test_id("plan-power-keys-done").click()
    expect(plan.get_by_test_id("plan-power-keys")).to_have_count(0)
    expect(plan.get_by_test_id("plan-use")).to_be_enabled()
    assert not wrong, "\n".join(wrong)


def test_what_is_typed_or_pasted_is_read_or_asked_about_and_never_guessed(plan: Page):
    power, said = plan.get_by_test_id("plan-power"), plan.get_by_test_id("plan-power-said")
    power.fill("1,5")
    expect(said).to_contain_text("Read as 1.5\u00a0W")
    power.fill("1,500")
    expect(plan.get_by_test_id("plan-power-ask")).to_be_visible()
    expect(plan.get_by_test_id("plan-use")).to_be_disabled()
    plan.get_by_test_id("plan-power-thousands").click()
    expect(power).to_have_value("1500")
    # 1500 W is far above what this laser is declared to do.
    expect(plan.get_by_test_id("plan-power-wrong")).to_contain_text("above the device's maximum")
    expect(plan.get_by_test_id("plan-use")).to_be_disabled()
    duration = plan.get_by_test_id("plan-pulse-duration")
    for micro in ("250 us", "250 \u00b5s", "250\u03bcs"):
        duration.fill(micro)
        expect(plan.get_by_test_id("plan-pulse-duration-said")).to_contain_text(
            "Read as 250\u00a0µs"
        )
    duration.fill("0,25 ms")
    expect(plan.get_by_test_id("plan-pulse-duration-said")).to_contain_text("Read as 0.25\u00a0ms")
    duration.fill("250 s")
    expect(plan.get_by_test_id("plan-pulse-duration-wrong")).to_contain_text("not a unit")
    expect(plan.get_by_test_id("plan-use")).to_be_disabled()


def test_a_step_beyond_the_laser_is_refused_in_words(plan: Page):
    power = plan.get_by_test_id("plan-power")
    # "Laser with the arm": average power 0.5 W to 20 W, pulse energy 5 mJ to 150 mJ. At 120 Hz and
    # 250 us the pulse energy of 6.5 W is 54 mJ, its peak 217 W; of 7 W 233 W, above 220 W.
    power.fill("6.5")
    plan.get_by_test_id("plan-power-plus").click()
    expect(plan.get_by_test_id("plan-power-refused")).to_contain_text("above the device's maximum")
    expect(power).to_have_value("6.5")
    plan.get_by_test_id("plan-power-minus").click()
    expect(power).to_have_value("6")
    expect(plan.get_by_test_id("plan-power-refused")).to_have_count(0)


def test_a_spot_behind_a_lens_widens_with_every_step_away_from_the_focus(plan: Page):
    words = plan.get_by_test_id("drawing-spot")
    # Stated by its diameter: 0.25 mm is 0.25 of a 1 mm square.
    expect(words).to_contain_text("It is 0.25 of a 1\u00a0mm square across.")
    expect(words).to_contain_text("not known")
    by_lens(plan)
    # 4 M2 lambda f / (pi D) = 4 x 1.1 x 10.6 um x 100 mm / (pi x 6 mm) = 0.24743 mm; the exact lens
    # takes 0.1 % off: 0.24722. zR = pi x 0.24722^2 / (4 x 1.1 x 0.0106) = 4.1168 mm.
    # It is not stated how far the tissue is from the focus: in focus until somebody says so.
    expect(words).to_contain_text("Spot 0.247\u00a0mm across")
    expect(words).to_contain_text("The tissue lies at the waist.")
    defocus = plan.get_by_test_id("plan-defocus")
    defocus.fill("5,5")
    # 0.24722 x sqrt(1 + (5.5 / 4.1168)^2) = 0.4126 mm; with one more half millimetre 0.4370 mm.
    expect(words).to_contain_text("Spot 0.413\u00a0mm across")
    expect(words).to_contain_text("outside the depth of focus")
    fluence = plan.get_by_test_id("dose-fluence_mean-set")
    before = fluence.text_content()
    plan.get_by_test_id("plan-defocus-plus").click()
    expect(defocus).to_have_value("6")
    expect(words).to_contain_text("Spot 0.437\u00a0mm across")
    expect(plan.get_by_test_id("plan-spot-now")).to_contain_text("0.437\u00a0mm")
    expect(fluence).not_to_have_text(before)
    plan.get_by_test_id("dose-more-open").click()
    expect(plan.get_by_test_id("dose-rayleigh_range-set")).to_have_text("4.12\u00a0mm")
    expect(plan.get_by_test_id("dose-depth_of_focus-set")).to_have_text("8.23\u00a0mm")
    plan.get_by_test_id("dose-rayleigh_range-open").click()
    inputs = plan.get_by_test_id("dose-rayleigh_range")
    for fact in ("Focal length", "Beam quality M²", "Wavelength", "estimated"):
        expect(inputs).to_contain_text(fact)
    # As constants.json and references.md have it: 0.5 rad; Siegman from memory.
    valid = plan.get_by_test_id("dose-rayleigh_range-valid")
    expect(valid).to_have_text("half divergences of up to 0.5\u00a0rad.")
    expect(plan.get_by_test_id("dose-rayleigh_range-status")).to_contain_text("from memory")
    expect(inputs).to_contain_text("Siegman AE, Lasers")
    wrong = looking.look(plan, "plan with a lens")
    assert not wrong, "\n".join(wrong)


def test_a_stated_uncertainty_of_the_spot_becomes_an_interval(plan: Page):
    expect(plan.get_by_test_id("dose-irradiance_mean-interval")).to_have_count(0)
    plan.get_by_test_id("spot-more-open").click()
    plan.get_by_test_id("plan-spot-uncertainty").fill("5 %")
    # 3 W on 0.25 mm is 6112 W/cm2 as set. Of what arrives, with the check's own uncertainty, the
    # interval must hold at least the 20 % either way that come from the diameter alone.
    shown = plan.get_by_test_id("dose-irradiance_mean-interval")
    low, high = (number_of(text) for text in shown.inner_text().split("–"))
    middle = number_of(plan.get_by_test_id("dose-irradiance_mean-delivered").inner_text())
    assert low <= 0.8 * middle * 1.005
    assert high >= 1.2 * middle * 0.995


def number_of(text: str) -> float:
    """The number of a text such as "6110 W/cm2"."""
    return float(text.split()[0])


def test_the_pulses_are_drawn_with_what_is_cut_said(plan: Page):
    words = plan.get_by_test_id("drawing-pulses-words")
    # 120 Hz: a period of 8.333 ms; three of them are 25 ms.
    expect(words).to_contain_text("Each pulse lasts 250\u00a0µs, one every 8.33\u00a0ms.")
    expect(words).to_contain_text("The picture shows 25\u00a0ms. Time is to scale.")
    plan.get_by_test_id("mode-gated").check()
    plan.get_by_test_id("plan-gate-on").fill("50")
    plan.get_by_test_id("plan-gate-off").fill("50")
    plan.get_by_test_id("plan-more-open").click()
    # Of the pulses that were not gated nothing is taken along.
    plan.get_by_test_id("plan-pulse-duration").fill("250")
    plan.get_by_test_id("plan-repetition-rate").fill("200")
    # 50 ms at 200 Hz: ten pulses.
    expect(words).to_contain_text("10 pulses in each gate.")
    expect(words).to_contain_text("the pause of 50\u00a0ms after the gate is cut short")


def test_two_settings_are_compared_number_by_number(plan: Page):
    plan.get_by_test_id("plan-compare").click()
    expect(plan.get_by_test_id("compare-differences")).to_contain_text("A and B are the same.")
    # Twice the diameter: the same energy on four times the area.
    plan.get_by_test_id("compare-b-spot").fill("0.5")
    for name, ratio in (("fluence_mean", "× 0.25"), ("irradiance_peak", "× 0.25")):
        expect(plan.get_by_test_id(f"compare-{name}-ratio")).to_have_text(ratio)
    expect(plan.get_by_test_id("compare-spot_diameter-ratio")).to_have_text("× 2")
    expect(plan.get_by_test_id("compare-average_power-ratio")).to_have_text("same")
    expect(plan.get_by_test_id("differs-spot-ratio")).to_have_text("× 2")
    expect(plan.get_by_test_id("compare-summary")).to_contain_text("Fluence × 0.25")
    # Both spots on one grid.
    expect(plan.get_by_test_id("compare-spot-a-words")).to_contain_text("0.25 of a 1\u00a0mm")
    expect(plan.get_by_test_id("compare-spot-b-words")).to_contain_text("0.5 of a 1\u00a0mm")
    # A hand speed in B alone: A says why it has no such number.
    plan.get_by_test_id("compare-b-speed").fill("5")
    expect(plan.get_by_test_id("compare-line_energy-a")).to_have_text("No speed is stated.")
    expect(plan.get_by_test_id("compare-line_energy-ratio")).to_have_text("no ratio")
    wrong = looking.look(plan, "compare")
    plan.get_by_test_id("compare-use-b").click()
    expect(plan.get_by_test_id("plan-spot")).to_have_value("0.5")
    expect(plan.get_by_test_id("plan-use")).to_be_enabled()
    assert not wrong, "\n".join(wrong)


def test_another_tip_within_a_case_brings_its_own_check_or_says_there_is_none(server, tablet: Page):
    acts.enrol(tablet, server.new_code(), "Tablet in room 4")
    acts.sign_in(tablet, OPERATOR)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart="90418", initials="QY")
    acts.answer_timeout(tablet)
    tablet.get_by_test_id("pass-start").click()
    tablet.get_by_test_id("other-settings").click()
    expect(tablet.get_by_test_id("plan-device")).to_have_count(0)
    tablet.get_by_test_id("plan-handpiece").get_by_text("Handpiece, broad focus").click()
    expect(tablet.get_by_test_id("plan-other-tip")).to_contain_text("Handpiece, fine focus")
    expect(tablet.get_by_test_id("plan-spot")).to_have_value("0.45")
    # The demo's checks of the broad handpiece are of gated emission, not of pulses.
    expect(tablet.get_by_test_id("dose-basis")).to_contain_text("not verified with this tip")
    expect(tablet.get_by_test_id("dose-average_power-delivered")).to_have_text("–")
    tablet.get_by_test_id("spot-more-open").click()
    tablet.get_by_test_id("plan-spot-uncertainty").fill("5")
    tablet.get_by_test_id("plan-use").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
    expect(tablet.get_by_test_id("pass").last).to_contain_text("Handpiece, broad focus")
    # The server takes such a pass, with its tip and its uncertainty, as it takes any other.
    acts.on_server(tablet)


# The loop takes about 1 ms where this was written. A tablet on which it takes 4 ms is taken for a
# slow one (own choice); there a frame of a 60 Hz screen, 16.7 ms, is 4.2 loops.
FRAME_IN_LOOPS = 4.2
REDRAW = """async ([field, shown, texts]) => {
  const input = document.querySelector(`[data-testid=${field}]`);
  const text = () => document.querySelector(`[data-testid=${shown}]`).textContent;
  const write = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, "value").set;
  const loop = () => {
    const begun = performance.now();
    let sum = 0, words = "";
    for (let i = 1; i <= 2000; i += 1) {
      sum += Math.sqrt(i) * Math.exp(-i / 1000);
      words = JSON.stringify({ value: sum, unit: "W", at: [i, words.length] });
      sum += JSON.parse(words).value % 1;
    }
    return performance.now() - begun;
  };
  const redraw = async (typed) => {
    const before = text();
    const begun = performance.now();
    write.call(input, typed);
    input.dispatchEvent(new Event("input", { bubbles: true }));
    const changed = new Promise((done) => {
      const watch = new MutationObserver(() => text() !== before && (watch.disconnect(), done()));
      watch.observe(document.body, { subtree: true, childList: true, characterData: true });
    });
    await changed;
    return performance.now() - begun;
  };
  const loops = [], redraws = [];
  for (let i = 0; i < 40; i += 1) {
    loops.push(loop());
    redraws.push(await redraw(texts[i % 2]));
    await new Promise(requestAnimationFrame);
  }
  const quarter = (times) => times.sort((a, b) => a - b)[times.length >> 2];
  return quarter(redraws) / quarter(loops);
}"""


def test_the_dose_is_redrawn_within_a_frame(plan: Page):
    asked = ["plan-power", "dose-fluence_mean-set", ["4", "3"]]
    # Whoever else uses the machine can only slow it down, so the best of three counts.
    ratios = [plan.evaluate(REDRAW, asked) for _ in range(3)]
    assert min(ratios) < FRAME_IN_LOOPS, ratios
