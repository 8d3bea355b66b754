// What is new comes by itself, and takes nothing away: what somebody has typed, where they are, what they have opened. A
// finding leaves by itself once its cause is gone.
import { ensure } from "./everyline.mjs";
import { put, quiet } from "./shop.mjs";
import { within } from "./window.mjs";

/** How long it takes at most until a folder was read, judged, and told to the browsers. */
const NEWS = 40_000;

const NOTE = "the customer is called back on Mon";

/** Where somebody is in a page, and what they have there. Runs in the page. */
function here() {
  const field = document.activeElement;
  return {
    field: field.id,
    typed: field.value,
    from: field.selectionStart,
    to: field.selectionEnd,
    top: Math.round(field.getBoundingClientRect().top),
    isOpen: field.closest("details")?.open,
    isThisOne: window.isThisOne === true,
    // At the top there is nowhere to go back to.
    isAtTop: scrollY === 0,
  };
}

/** Fails where anything of it is another, or was moved by more than a pixel or two. */
function same(before, after, what) {
  const { top, isAtTop: _, ...rest } = before;
  const { top: now, isAtTop, ...other } = after;
  ensure(JSON.stringify(rest) === JSON.stringify(other), `${what} changed what somebody has: ${JSON.stringify(before)} became ${JSON.stringify(after)}`);
  ensure(Math.abs(top - now) <= 2 || (isAtTop && now < top), `${what} moved what somebody types into by ${now - top} px`);
}

/** Two windows on the quiet shop, while its files change. */
export async function staysAsItIs({ browser }, server) {
  const task = (page, text) => page.locator("article.task", { hasText: text });
  const gone = (page, text) => task(page, text).first().waitFor({ state: "detached", timeout: NEWS });
  const come = (page, text) => task(page, text).first().waitFor({ timeout: NEWS });
  await within(browser, { height: 760 }, async (page) => {
    await page.goto(`${server.url}/queue`);
    await page.getByText("Nothing is to be done.").waitFor();
    await page.evaluate(() => { window.isThisOne = true; });

    // A window beside it, which hears of nothing until the news is there, and then of one change alone: it must not miss it.
    await within(browser, {}, async (late) => {
      let letGo;
      const held = new Promise((resolve) => { letGo = resolve; });
      await late.route("**/events", async (route) => {
        await held;
        await route.fulfill({ contentType: "text/event-stream", body: "event: changed\ndata: 999999999\n\n" });
      });
      await late.goto(`${server.url}/queue`);
      await late.getByText("Nothing is to be done.").waitFor();
      await put(server.files, quiet({ isSold: true }));
      await come(page, "KK-302");
      letGo();
      await come(late, "KK-302");
    });
    ensure(await page.evaluate(() => window.isThisOne), "the page was loaded anew");

    await task(page, "KK-302").getByText("Set aside…").click();
    const note = task(page, "KK-302").getByLabel("Why, for whoever finds it later");
    await note.fill(NOTE);
    // At the top of the page, where a browser by itself would let what comes above push all down.
    await note.evaluate((field) => {
      field.focus();
      field.setSelectionRange(4, 12);
      scrollTo(0, 0);
    });
    const before = await page.evaluate(here);
    ensure(before.typed === NOTE && before.from === 4, "nothing was typed");

    // A finding more, above what is typed.
    await put(server.files, quiet({ isSold: true, isUnsent: true }));
    await come(page, "KK-300");
    same(before, await page.evaluate(here), "a new finding");

    // Somebody else sets one aside.
    await within(browser, {}, async (other) => {
      await other.goto(`${server.url}/queue`);
      const theirs = task(other, "KK-300");
      await theirs.getByText("Set aside…").click();
      await theirs.getByLabel("Why, for whoever finds it later").fill("<b>we know</b>");
      await theirs.getByRole("button", { name: "Set it aside" }).click();
      await other.getByText("Set aside. It stands on the page").waitFor();
      await gone(page, "KK-300");
      await page.locator(".tallies .kept").waitFor();
      same(before, await page.evaluate(here), "what somebody else set aside");

      // The cause is taken away: the offer is linked here, has its SKU at the storefront, and the rest is made.
      await other.goto(`${server.url}/listings/shop/KL-30`);
      await other.getByRole("button", { name: /^Link it so/ }).click();
      await other.locator("ol.offers > li.is-intended").waitFor();
      await put(server.files, quiet({ isSold: true, isUnsent: true, isLinked: true, isMade: true }));
      await other.locator("ol.offers > li.is-intended").waitFor({ state: "detached", timeout: NEWS });
      await task(page, "KK-302").getByText("This is no longer on the list.").waitFor({ timeout: NEWS });
      const kept = await page.evaluate(here);
      ensure(kept.typed === NOTE && kept.field === before.field && kept.isThisOne, `what was typed was lost: ${JSON.stringify(kept)}`);

      await other.goto(`${server.url}/queue`);
      await other.getByText("Nothing is to be done.").waitFor();
      await other.goto(`${server.url}/orders/KK-302`);
      await other.getByRole("heading", { name: "Found and settled" }).waitFor();
      ensure(await other.locator("li.side.is-right").count() === 2, "the order is not shown as made");
    });
  });
}
