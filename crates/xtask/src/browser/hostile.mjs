// A shop of which every text would like to be more than a text: notes too. Whatever is in it, a page shows it as what it is.
import { ensure } from "./everyline.mjs";
import { HOSTILE } from "./shop.mjs";
import { signIn, within } from "./window.mjs";

/** Sets findings aside with hostile notes, looks at each page that shows them, and holds texts against what was written. */
export async function hostileTextsAreTexts({ browser }, server) {
  const headers = { Authorization: `Bearer ${server.tokens.act}`, "Content-Type": "application/json" };
  const queue = await server.json("/api/queue?shop=hostile", { headers });
  ensure(queue.findings >= HOSTILE.length, `only ${queue.findings} findings are there`);
  const findings = queue.tasks.flatMap((task) => task.concerned).slice(0, HOSTILE.length);
  for (const [place, { finding }] of findings.entries()) {
    const body = JSON.stringify({ note: HOSTILE[place].slice(0, 400) });
    const path = `/api/findings/${encodeURIComponent(finding)}/set-aside?shop=hostile`;
    const { status, body: answer } = await server.ask(path, { method: "PUT", headers, body });
    ensure(status === 204, `a hostile note was answered with ${status}: ${answer}`);
  }
  // What was not meant to run must have been shown, or nothing was looked at.
  const shown = `<script>window.marked = 1</script>`;
  await within(browser, { width: 360, height: 740 }, async (page) => {
    await signIn(page, server, server.passwords.act);
    for (const path of ["/queue?shop=hostile", "/set-aside", "/listings?shop=hostile", "/sources"]) {
      await page.goto(server.url + path);
      const text = await page.evaluate(() => document.body.innerText);
      if (path !== "/sources") ensure(text.includes(shown), `${path} does not show ${shown}`);
      const elements = await page.evaluate(() => document.querySelectorAll("main script, main img, main base, main meta, main style, main form[action*='evil']").length);
      ensure(elements === 0, `${path} has ${elements} elements that the shop's texts made`);
      // What runs from right to left ends where its text ends.
      const open = await page.evaluate(() => [...document.querySelectorAll("main *")]
        .filter((one) => one.childElementCount === 0 && /[\u202a-\u202e]/.test(one.textContent)).map((one) => one.outerHTML.slice(0, 200)));
      ensure(open.length === 0, `${path} turns the direction of what follows: ${open[0]}`);
    }
    // A note that is typed here comes back as it was typed.
    await page.goto(`${server.url}/queue?shop=hostile`);
    const task = page.locator("article.task").first();
    await task.getByText("Set aside…").first().tap();
    await task.getByLabel("Why, for whoever finds it later").first().fill(HOSTILE[1]);
    await task.getByRole("button", { name: "Set it aside" }).first().tap();
    await page.getByText("Set aside. It stands on the page").waitFor();
    await page.goto(`${server.url}/set-aside`);
    const notes = await page.locator(".kept").allInnerTexts();
    ensure(notes.some((note) => note.includes(HOSTILE[1])), "a note is not shown as it was typed");
  });
}
