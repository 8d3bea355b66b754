// The owner's way through the queue: an order, its link, aside and back; with a script and without one.
import { ensure, until } from "./everyline.mjs";
import { within } from "./window.mjs";

/** The offer of the demo that nobody makes and most have bought: listing, and what a customer chose. */
const LISTING = "KL-02";
const OFFER = "Plum, 2XL";

/** The demo's shop is asked once a minute. */
const A_ROUND = 90_000;

/** Takes back what the demo may have accepted of the listing, so that it is done here. */
async function untouched(page, server) {
  await page.goto(`${server.url}/listings/shop/${LISTING}`);
  const back = page.getByRole("button", { name: /^Take change \d+ back$/ });
  if (await back.count() === 0) return;
  await back.click();
  await page.getByText("Taken back: what stood before stands again.").waitFor();
}

/** From the queue to an order, and to what its offer leads to; up to a link in force and its finding settled. */
export async function fromTheQueueToForce({ browser }, server) {
  await within(browser, {}, async (page) => {
    await untouched(page, server);
    await page.goto(`${server.url}/queue`);
    const task = page.locator("article.task", { hasText: `(${OFFER})` }).first();
    ensure(await task.getByText("link it once").count() > 0, `nothing is said of linking (${OFFER})`);
    await task.locator("ul.orders a").first().click();
    await page.getByRole("heading", { level: 1, name: /^Order KK-/ }).waitFor();
    const line = page.locator("li.side.is-missing", { hasText: OFFER }).first();
    ensure(await line.locator(".linked").innerText() === "Not linked to a supplier variant", "the order does not say that the line has no link");
    ensure(await line.getByText("It could be linked to").count() === 1, "no variant is proposed on the order's page");

    await page.getByRole("link", { name: "Listings" }).click();
    await page.locator(`a[href$="/${LISTING}"]`).first().click();
    // From the place in the grid to the offer.
    await page.locator("a.cell.is-unlinked").first().click();
    const offer = page.locator("ol.offers > li:target");
    ensure((await offer.innerText()).includes("Plum"), "the place in the grid does not lead to its offer");
    await offer.getByRole("button", { name: /^Link it so/ }).click();
    await page.getByRole("status").getByText("Kept as what you intend").waitFor();
    ensure(await page.locator("ol.offers > li.is-intended", { hasText: "Plum" }).count() === 1, "what was accepted is not intended");
    ensure(await page.locator("a.cell.is-intended").count() === 1, "the grid does not show what is intended");
    ensure(await page.getByRole("button", { name: /^Take change \d+ back$/ }).count() === 1, "the change cannot be taken back");
    // Nothing at the storefront was changed, and the finding stands.
    const queue = await server.json("/api/queue?check=offer-unlinked");
    ensure(queue.tasks.some((task) => task.head.includes(`(${OFFER})`)), "the finding is gone before its cause is");
    await inForce(page, server);
  });
}

/** From what is intended to what is in force: the listing's page sees it by itself, and the finding leaves the queue. */
async function inForce(page, server) {
  const listing = page.url();
  const more = page.locator("section", { has: page.getByRole("heading", { name: "Bring into force what you intend" }) });
  await sent(page, more);
  await page.goto(listing);
  await page.evaluate(() => { window.isThisOne = true; });
  await page.locator("a.cell.is-intended").first().waitFor({ state: "detached", timeout: A_ROUND });
  ensure(await page.evaluate(() => window.isThisOne === true), "the page was loaded anew");
  await until("the finding to leave the queue", A_ROUND, async () => {
    const queue = await server.json("/api/queue?check=offer-unlinked");
    return !queue.tasks.some((task) => task.head.includes(`(${OFFER})`));
  });
}

/** Shown first, then confirmed; then what became of it. */
async function sent(page, more) {
  await more.getByRole("link", { name: "See what would be sent" }).click();
  await page.getByRole("heading", { level: 1, name: "Send what you intend" }).waitFor();
  const skus = await page.locator("ol.skus .sku").allInnerTexts();
  ensure(skus.length === 2 && skus[0] !== skus[1], `not an old and a new SKU are shown but ${skus}`);
  await page.getByRole("button", { name: "Change this SKU at the storefront" }).click();
  await page.waitForURL(/\/sent\//);
  await page.locator("ol.skus li.is-done").waitFor();
}

/** The same ways without a script, on a phone: narrowing, an order, aside with a note, and back. */
export async function withoutScript({ browser }, server) {
  await within(browser, { script: false, width: 360, height: 740 }, async (page) => {
    await untouched(page, server);
    await page.goto(`${server.url}/queue`);
    ensure(await page.getByText("Load this page again to see what is new").isVisible(), "it does not say that it has to be loaded again");
    ensure(!await page.getByText("This page shows what is new by itself").isVisible(), "it promises what it cannot do");
    await page.getByText("Show only some").tap();
    await page.getByLabel("Check").selectOption("wrong-variant");
    await page.getByRole("button", { name: "Show these" }).tap();
    const task = page.locator("article.task").first();
    await task.getByRole("link", { name: /side by side/ }).tap();
    await page.getByRole("heading", { level: 1, name: /^Order KK-/ }).waitFor();
    const order = new URL(page.url()).pathname;
    ensure(await page.locator("li.side.is-wrong").count() > 0, "the order does not show the wrong item");
    await page.getByText("Set aside…").first().tap();
    await page.getByLabel("Why, for whoever finds it later").first().fill("the customer keeps it");
    await page.getByRole("button", { name: "Set it aside" }).first().tap();
    await page.getByText("Set aside. It stands on the page").waitFor();
    ensure(new URL(page.url()).pathname === order, "setting aside does not lead back");
    await page.getByRole("link", { name: "Set aside", exact: true }).tap();
    await page.getByText("the customer keeps it").waitFor();
    await page.getByRole("button", { name: /Take it back/ }).tap();
    await page.getByText("Nothing is set aside.").waitFor();
    await page.getByRole("link", { name: "To do", exact: true }).tap();
    await page.getByRole("link", { name: "load it now" }).tap();
    await page.getByRole("heading", { level: 1, name: "To do" }).waitFor();

    // A proposal is accepted and taken back.
    await page.getByRole("link", { name: "Listings", exact: true }).tap();
    await page.getByRole("link", { name: /Puffin T-shirt/ }).tap();
    await page.getByRole("button", { name: /^Link it so/ }).first().tap();
    await page.getByText("Kept as what you intend").waitFor();
    await page.getByRole("button", { name: /^Take change \d+ back$/ }).tap();
    await page.getByText("Taken back: what stood before stands again.").waitFor();
    ensure(await page.locator("ol.offers > li.is-intended").count() === 0, "what was taken back is still intended");
    await page.getByRole("link", { name: "Sources", exact: true }).tap();
    await page.getByRole("heading", { level: 1, name: "Sources" }).waitFor();
  });
}
