// Files that somebody drops: two small exports in German, of which one word has to be said, and what is found in them.
import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { ensure, run } from "./everyline.mjs";
import { looked } from "./looks.mjs";
import { kindOf } from "./pages.mjs";
import { GERMAN } from "./shop.mjs";
import { within } from "./window.mjs";

/** The word of the supplier's that no list has, and what the owner says that it means. */
const CORRECTION = { word: "Walze", means: "making", said: "being made" };

/** When all of the exports has happened. */
const AS_OF = "2026-11-24T18:00:00Z";

/** Writes the exports into a folder, and answers where each is. */
async function exported(folder) {
  await mkdir(folder, { recursive: true });
  const places = {};
  for (const [name, text] of Object.entries(GERMAN)) {
    places[name] = join(folder, name);
    await writeFile(places[name], text);
  }
  return places;
}

/** What the command line makes of the exports: one point is open, and once it is said, one order goes out incomplete. */
export async function exportsAreRead({ everyline, scratch }) {
  const folder = join(scratch, "exports");
  const places = await exported(folder);
  const map = (name) => join(folder, `${name}.toml`);
  await run(everyline, ["source", "propose", "--role", "storefront", "--sample", places["bestellungen.csv"], "--out", map("till")]);
  const supplier = (out, ...more) => run(everyline, [
    "source", "propose", "--role", "supplier", "--supplier", "alder-print", "--sample", places["auftraege.csv"],
    "--beside", map("till"), "--out", map(out), ...more,
  ], { codes: [0, 1] });
  const open = await supplier("open");
  const left = open.replaceAll(/\s+/g, " ");
  ensure(left.includes(`is not known; add them to \`words\`: "${CORRECTION.word}"`) && left.includes("0 open, and what 1 word means, to be said"),
    `not just what ${CORRECTION.word} means is left open:\n${open}`);
  const said = await supplier("alder", "--answer", `submissions.status:${CORRECTION.word}=${CORRECTION.means}`);
  ensure(/\b0 open, to be said/.test(said.replaceAll(/\s+/g, " ")), `something is left open:\n${said}`);
  const audit = ["audit", "--from", folder, "--map", map("till"), "--map", map("alder"), "--as-of", AS_OF, "--format", "jsonl"];
  const found = (await run(everyline, audit, { codes: [1] })).trim().split("\n").map((line) => JSON.parse(line));
  const short = found.map(({ check, order_id }) => `${check} ${order_id}`);
  ensure(`${short}` === "part-sent B-1007", `found is ${short}`);
}

/**
 * The same on the page that takes files: the exports are given, the one open word is said, and what is
 * found is what the command line finds. Each step is looked at in a narrow and in a wide window.
 */
export async function dropped({ browser, axe, pages, seen, scratch }, server) {
  const places = await exported(join(scratch, "dropped"));
  for (const like of [{ width: 360, height: 740, scheme: "dark" }, { script: false }]) {
    await within(browser, like, async (page) => {
      const step = async (heading) => {
        await page.getByRole("heading", { level: 1, name: heading }).waitFor();
        seen.add(kindOf(pages, page.url()));
        if (like.script === false) return;
        const faults = await looked(page, axe);
        ensure(faults.length === 0, `${heading}: ${faults.join("; ")}`);
      };
      await page.goto(`${server.url}/try`);
      const exports = page.getByLabel(/^Its exports: orders with their lines/);
      await exports.nth(0).setInputFiles(places["bestellungen.csv"]);
      await page.getByLabel("Its name").first().fill("alder-print");
      await exports.nth(1).setInputFiles(places["auftraege.csv"]);
      await page.locator("details", { has: page.getByLabel(/^Judged as of/) }).evaluate((details) => { details.open = true; });
      await page.getByLabel(/^Judged as of/).fill(AS_OF.slice(0, 10));
      await page.getByRole("button", { name: "Read them" }).click();
      await step("How your files are read");
      const point = page.getByRole("region", { name: /could not be told/ }).getByLabel(new RegExp(CORRECTION.word));
      ensure(await point.count() === 1, `${await point.count()} points speak of ${CORRECTION.word}`);
      await point.selectOption({ label: CORRECTION.said });
      await page.getByRole("button", { name: "This is so" }).click();
      await page.getByRole("link", { name: "See what is found" }).click();
      await step("What is found");
      const found = await page.locator("#list").innerText();
      ensure(found.includes("B-1007") && !found.includes("B-1008"), `found is ${found.slice(0, 300)}`);
      await page.getByRole("link", { name: /keep/i }).first().click();
      await step("Keep it");
      await page.goto(`${server.url}/try`);
      await page.getByRole("button", { name: /^Delete them now/ }).first().click();
      await page.goto(`${server.url}/try`);
      ensure(await page.getByRole("button", { name: /^Delete them now/ }).count() === 0, "the files are still there");
    });
  }
  return "twice";
}
