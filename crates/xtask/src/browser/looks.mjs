// What must hold of every page in every window: nothing for axe-core to say, nothing wider than the window, nothing too small
// for a finger.
/** Which rules of axe-core: WCAG 2.0 to 2.2, A and AA, and what it calls best practice; of AAA the contrast, which the style promises. */
const RULES = {
  runOnly: { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice"] },
  rules: { "target-size": { enabled: true }, "color-contrast-enhanced": { enabled: true } },
  resultTypes: ["violations"],
};

/** CSS pixels: WCAG 2.2, success criterion 2.5.8. */
const TARGET = 24;

/** What is not as it must be of a page, with all that can be opened in it open. */
export async function looked(page, axe) {
  await page.evaluate(() => {
    for (const details of document.querySelectorAll("details")) details.open = true;
  });
  const faults = [];
  const wide = await page.evaluate(tooWide);
  if (wide !== null) faults.push(`wider than the window: ${wide}`);
  for (const small of await page.evaluate(tooSmall, TARGET)) faults.push(`too small to be touched: ${small}`);
  await page.evaluate(axe);
  const violations = await page.evaluate(async (rules) => (await window.axe.run(document, rules)).violations, RULES);
  for (const { id, help, nodes } of violations) {
    const [{ html, any, all, none }] = nodes;
    const why = [...any, ...all, ...none][0]?.message ?? "";
    faults.push(`axe-core, ${id}: ${help}; ${html.replaceAll(/\s+/g, " ").slice(0, 160)}: ${why}`);
  }
  return faults;
}

/** Which element makes the page wider than the window, or null; runs in the page. */
function tooWide() {
  const root = document.documentElement;
  const room = root.clientWidth;
  const isMovedInABox = (element) => {
    for (let around = element.parentElement; around; around = around.parentElement) {
      if (["auto", "scroll", "hidden"].includes(getComputedStyle(around).overflowX) && around !== document.body && around !== root) {
        return true;
      }
    }
    return false;
  };
  const name = (element) => element.outerHTML.slice(0, 160);
  if (root.scrollWidth > room || document.body.scrollWidth > room) {
    const all = [...document.body.querySelectorAll("*")];
    const guilty = all.filter((one) => one.getBoundingClientRect().right > room + 0.5 && !isMovedInABox(one)).pop();
    return `${root.scrollWidth} of ${room} px; ${guilty ? name(guilty) : "of no element"}`;
  }
  // What stands out of the box that it is in is over something else, or cut off.
  for (const element of document.body.querySelectorAll("h1, h2, h3, h4, p, li, dd, dt, a, button, summary, label, legend, strong, b, span, bdi")) {
    const style = getComputedStyle(element);
    const box = element.getBoundingClientRect();
    if (box.width <= 1 || style.visibility === "hidden" || isMovedInABox(element)) continue;
    if (box.right > room + 1 || box.left < -1) {
      if (style.position === "absolute" || style.position === "fixed") continue;
      return `${Math.round(box.left)} to ${Math.round(box.right)} of ${room} px: ${name(element)}`;
    }
  }
  return null;
}

/**
 * What is too small to be touched; runs in the page. Excepted, as there: what stands in a line of text, and what has so much
 * room around it that a circle of that size over it touches no other target and no other's circle.
 */
function tooSmall(least) {
  const wanted = "a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button], [tabindex='0']";
  const all = [...document.querySelectorAll(wanted)].map((element) => ({ element, box: element.getBoundingClientRect() }));
  const seen = all.filter(({ element, box }) => box.width > 0 && box.height > 0
    && getComputedStyle(element).visibility !== "hidden" && box.bottom + scrollY > 0 && box.right > 0);
  const isInLine = ({ element }) => {
    if (getComputedStyle(element).display !== "inline") return false;
    const around = element.closest("p, li, dd, dt, td, th, h1, h2, h3, h4, span, div");
    return around !== null && around.textContent.trim().length > element.textContent.trim().length;
  };
  const isSmall = ({ box }) => box.width < least - 0.01 || box.height < least - 0.01;
  const middle = ({ box }) => [box.left + box.width / 2, box.top + box.height / 2];
  const isCrowded = (one) => seen.some((other) => {
    if (other === one || one.element.contains(other.element) || other.element.contains(one.element)) return false;
    const [x, y] = middle(one);
    if (isSmall(other)) {
      const [otherX, otherY] = middle(other);
      return Math.hypot(x - otherX, y - otherY) < least;
    }
    const across = Math.max(other.box.left - x, 0, x - other.box.right);
    const down = Math.max(other.box.top - y, 0, y - other.box.bottom);
    return Math.hypot(across, down) < least / 2;
  });
  return seen.filter((one) => isSmall(one) && !isInLine(one) && isCrowded(one)).map(({ element, box }) =>
    `${Math.round(box.width)} x ${Math.round(box.height)} px ${element.outerHTML.slice(0, 160)}`);
}
