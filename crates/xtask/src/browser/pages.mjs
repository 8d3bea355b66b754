// Every page there is, found by following every link, in light and dark, in a narrow and a wide window. Which pages there must
// be is what the server's own table of routes says.
import { readFile, readdir } from "node:fs/promises";
import { join } from "node:path";
import { ensure } from "./everyline.mjs";
import { looked } from "./looks.mjs";
import { opened, signIn } from "./window.mjs";

/** How many pages of a kind are looked at, of one shop. */
const OF_A_KIND = 2;

const WINDOWS = [
  { width: 360, height: 740, scheme: "light" },
  { width: 1280, height: 900, scheme: "dark" },
  { width: 360, height: 740, scheme: "dark" },
  { width: 1280, height: 900, scheme: "light" },
];

/** Addresses that no link leads to, and what is answered to them is a page all the same. */
export const PROBLEMS = [
  "/nothing-there", "/orders/NONE", "/listings/nobody/NONE", "/queue?check=everything", "/queue?page=0", "/queue?said=nothing",
  "/listings/accept", "/queue?urgency=now&check=stray-submission&age=older",
];

/** The pages of the table of routes, as it stands in the source. */
export async function declared(root) {
  const found = new Set();
  const folder = join(root, "crates/web/src/page");
  for (const file of await readdir(folder, { recursive: true })) {
    if (!file.endsWith(".rs")) continue;
    const text = await readFile(join(folder, file), "utf8");
    for (const [, path, name] of text.matchAll(/Route::page\(\s*(?:"([^"]+)"|([A-Z_]+))/g)) {
      const named = name && new RegExp(`const ${name}: &str = "([^"]+)"`).exec(text)?.[1];
      ensure(path ?? named, `where the page ${name} of ${file} is, is not found`);
      found.add(path ?? named);
    }
  }
  ensure(found.has("/queue") && found.size > 4, `the table of routes was not found in ${folder}`);
  return [...found].sort();
}

/** Which of the declared pages an address is, or nothing. */
export function kindOf(pages, url) {
  const path = new URL(url).pathname;
  const fits = (page) => new RegExp(`^${page.replaceAll(/\{[^}]+\}/g, "[^/]+")}$`).test(path);
  return pages.find((page) => page === path) ?? pages.find(fits);
}

/**
 * Looks at the pages of a server, and says how many; which of the declared ones they were is put into `seen`. `own` names
 * what is looked at.
 */
export async function everyPage({ browser, axe, pages, seen }, server, { own, password, problems = [] }) {
  const found = await crawled({ browser, pages }, server, { password });
  for (const url of found) seen.add(kindOf(pages, url));
  const all = [...found, ...problems.map((path) => server.url + path)];
  let looks = 0;
  const faults = new Map();
  await Promise.all(WINDOWS.map(async (like) => {
    const window = await opened(browser, like);
    const { page, context } = window;
    try {
      if (password) await signIn(page, server, password);
      for (const url of all) {
        await page.goto(url);
        for (const fault of await looked(page, axe)) {
          const { pathname, search } = new URL(url);
          const place = `${(pathname + search).slice(0, 120)} (${like.width} px, ${like.scheme})`;
          faults.set(fault, [...(faults.get(fault) ?? []), place]);
        }
        looks += 1;
      }
    } catch (error) {
      await context.close().catch(() => {});
      throw error;
    }
    await window.close();
  }));
  const said = [...faults].map(([fault, places]) => `${fault}\n    on ${places.length} looks, first ${places[0]}`);
  ensure(said.length === 0, `${own} is not as it must be:\n  ${said.join("\n  ")}`);
  return `${looks} looks`;
}

/** The addresses to which links lead from the queue on; no more than so many of a kind, and of a kind with other parameters. */
async function crawled({ browser, pages }, server, { password }) {
  const window = await opened(browser);
  const { page } = window;
  if (password) await signIn(page, server, password);
  const waiting = [`${server.url}/queue`];
  const known = new Set(waiting);
  const counted = new Map();
  const found = [];
  while (waiting.length > 0) {
    const url = waiting.shift();
    const answer = await page.goto(url);
    ensure(answer.status() === 200, `a link leads to ${url}, which is answered with ${answer.status()}`);
    ensure(kindOf(pages, url) !== undefined, `a link leads to ${url}, which is no page of the table of routes`);
    found.push(url);
    const links = await page.$$eval("a[href]:not([download])", (all) => all.map((a) => a.href));
    for (const link of links) {
      const there = new URL(link);
      there.hash = "";
      ensure(there.origin === server.url, `a link leads elsewhere: ${link} on ${url}`);
      if (known.has(there.href)) continue;
      known.add(there.href);
      const kind = `${kindOf(pages, there.href)} ${[...there.searchParams.keys()].sort()}`;
      counted.set(kind, (counted.get(kind) ?? 0) + 1);
      if (counted.get(kind) <= OF_A_KIND) waiting.push(there.href);
    }
  }
  await window.close();
  return found;
}
