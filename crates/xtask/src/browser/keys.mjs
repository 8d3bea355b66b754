// By keys alone: every stop can be seen, none is a trap, and the owner's way needs nothing else.
import { ensure } from "./everyline.mjs";
import { within } from "./window.mjs";

/** More stops than any page has. */
const STOPS = 600;

/** More stops than a field has within itself; a date has five. */
const WITHIN_ONE = 8;

/** How much the mark of the focus has to differ from its ground: WCAG 2.2, success criterion 1.4.11. */
const CONTRAST = 3;

/** What the focus is on, as far as it can be told of; null where it is on nothing. Runs in the page. */
function focused() {
  const luminance = (colour) => {
    const [red, green, blue] = colour.match(/[\d.]+/g).map(Number).map((value) => {
      const part = value / 255;
      return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
  };
  const ground = (element) => {
    for (let around = element; around; around = around.parentElement) {
      const colour = getComputedStyle(around).backgroundColor;
      if (colour !== "transparent" && !/, 0\)$/.test(colour)) return colour;
    }
    return "rgb(255, 255, 255)";
  };
  const marked = (element) => {
    const { outlineStyle, outlineWidth, outlineColor, boxShadow } = getComputedStyle(element);
    const isOutlined = outlineStyle !== "none" && parseFloat(outlineWidth) >= 2;
    if (!isOutlined) return boxShadow === "none" ? 0 : 21;
    const [one, other] = [luminance(outlineColor), luminance(ground(element.parentElement ?? element))].sort((a, b) => b - a);
    return (one + 0.05) / (other + 0.05);
  };
  const element = document.activeElement;
  const before = window.focusedBefore;
  const left = before && before !== element && before.isConnected ? marked(before) : 0;
  const isSame = before === element;
  window.focusedBefore = element;
  if (!element || element === document.body) return null;
  const box = [...element.getClientRects()].find((rect) => rect.width > 0 && rect.height > 0) ?? element.getBoundingClientRect();
  const isSeen = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth && box.width > 0;
  const over = [...document.querySelectorAll("*")].filter((other) => {
    const style = getComputedStyle(other);
    if (!["fixed", "sticky"].includes(style.position) || style.display === "none" || other.contains(element)) return false;
    const rect = other.getBoundingClientRect();
    return rect.left <= box.left && rect.right >= box.right && rect.top <= box.top && rect.bottom >= box.bottom;
  });
  return {
    what: element.outerHTML.replaceAll(/\s+/g, " ").slice(0, 120),
    tag: element.tagName.toLowerCase(),
    text: (element.getAttribute("aria-label") ?? element.textContent ?? "").replaceAll(/\s+/g, " ").trim(),
    id: element.id,
    name: element.getAttribute("name"),
    href: element.getAttribute("href"),
    contrast: marked(element),
    left,
    isSame,
    isSeen,
    isCovered: over.length > 0,
  };
}

/** Goes on by Tab until something is reached, and looks at each stop on the way. */
async function tabTo(page, what, is) {
  for (let stop = 0; stop < STOPS; stop += 1) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(focused);
    if (at === null) continue;
    held(at);
    if (is(at)) return at;
  }
  throw new Error(`${what} cannot be reached by Tab`);
}

function held(at) {
  ensure(at.contrast >= CONTRAST, `the focus cannot be seen (${at.contrast.toFixed(1)} to 1) on ${at.what}`);
  ensure(at.left === 0, `the mark of the focus stays where it has left, before ${at.what}`);
  ensure(at.isSeen, `the focus is outside of the window on ${at.what}`);
  ensure(!at.isCovered, `what has the focus is covered: ${at.what}`);
}

/** Every stop of a page, from its beginning to its end. */
export async function tour(page) {
  await page.evaluate(() => {
    window.focusedBefore = null;
    document.activeElement?.blur();
    scrollTo(0, 0);
  });
  let [stops, alike] = [0, 0];
  for (; stops < STOPS; stops += 1) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(focused);
    alike = at?.isSame ? alike + 1 : 0;
    if (alike > WITHIN_ONE) throw new Error(`Tab does not come to an end: it stays on ${at.what}`);
    // Behind the last stop the focus leaves the page.
    if (at === null || (stops > 0 && at.tag === "a" && at.href === "#main")) return stops;
    held(at);
  }
  throw new Error(`Tab does not come to an end at ${page.url()}`);
}

/** The owner's way by Tab, Enter, Space and arrows. */
export async function byKeysAlone({ browser }, server) {
  let stops = 0;
  await within(browser, {}, async (page) => {
    const key = (name) => page.keyboard.press(name);
    await page.goto(`${server.url}/queue`);
    const first = await tabTo(page, "anything", () => true);
    ensure(first.href === "#main", `the first stop is not the way past the head but ${first.what}`);
    await key("Enter");
    ensure(await page.evaluate(() => document.activeElement.id) === "main", "the way past the head does not lead to what the page says");
    const next = await tabTo(page, "anything", () => true);
    ensure(!["nav", "header"].includes(next.tag) && next.text !== "Set aside", `behind it comes ${next.what}`);

    await tabTo(page, "the narrowing", (at) => at.tag === "summary" && at.text === "Show only some");
    await key("Space");
    await tabTo(page, "the choice of a check", (at) => at.tag === "select" && at.name === "check");
    for (let step = 0; step < 40 && await page.locator("#by-check").inputValue() !== "wrong-variant"; step += 1) await key("ArrowDown");
    await tabTo(page, "the button of the narrowing", (at) => at.tag === "button" && at.text === "Show these");
    await Promise.all([page.waitForURL(/check=wrong-variant/), key("Enter")]);
    await tabTo(page, "an order", (at) => at.tag === "a" && /side by side$/.test(at.text));
    await Promise.all([page.waitForURL(/\/orders\//), key("Enter")]);

    await tabTo(page, "setting aside", (at) => at.tag === "summary" && at.text.startsWith("Set aside"));
    await key("Enter");
    await tabTo(page, "the note", (at) => at.tag === "input" && at.name === "note");
    await page.keyboard.type("by keys alone");
    await tabTo(page, "the button that sets aside", (at) => at.tag === "button" && at.text === "Set it aside");
    await Promise.all([page.waitForURL(/said=set-aside/), key("Space")]);
    await tabTo(page, "the page of what is set aside", (at) => at.href === "/set-aside");
    await Promise.all([page.waitForURL(/\/set-aside$/), key("Enter")]);
    await page.getByText("by keys alone").waitFor();
    await tabTo(page, "taking back", (at) => at.tag === "button" && at.text.startsWith("Take it back"));
    await Promise.all([page.waitForURL(/said=taken-back/), key("Space")]);
    await page.getByText("Nothing is set aside.").waitFor();

    for (const path of ["/queue", "/listings", "/listings/shop/KL-02", "/sources"]) {
      await page.goto(server.url + path);
      stops += await tour(page);
    }
  });
  await within(browser, { width: 360, height: 740, scheme: "dark" }, async (page) => {
    for (const path of ["/queue", "/listings/shop/KL-02"]) {
      await page.goto(server.url + path);
      stops += await tour(page);
    }
  });
  return `${stops} stops`;
}
