// What the step `browser` runs: it starts the program in several shops, looks at each through a browser, and says what is not
// as it must be. The first argument says, as JSON, where everything is. Whatever happens, it ends what it has started.
import { readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { join } from "node:path";
import { Server, endAll, ensure, run, until } from "./everyline.mjs";
import { eachFaultIsFound } from "./canary.mjs";
import { dropped, exportsAreRead } from "./files.mjs";
import { hostileTextsAreTexts } from "./hostile.mjs";
import { fromTheQueueToForce, withoutScript } from "./job.mjs";
import { byKeysAlone } from "./keys.mjs";
import { staysAsItIs } from "./live.mjs";
import { PROBLEMS, declared, everyPage } from "./pages.mjs";
import { refused } from "./refused.mjs";
import { hostile, put, quiet } from "./shop.mjs";
import { started } from "./window.mjs";

const { everyline, chromium, packages, root, scratch } = JSON.parse(process.argv[2]);

/** What a watch says of its page, and the demo once its day is over. */
const WATCHING = /the page is at (http:\/\/\S+)/;
const STAYING = /The page is at\s+(http:\/\/\S+)/;

/** How long each of the checks may take, and all of them together. */
const ONE = 400_000;
const WHOLE = 840_000;

const PASSWORDS = { act: "moss and stone 7731", look: "lichen and slate 4410" };

const TOKENS = { act: "a-token-of-somebody-who-acts-5518", look: "a-token-of-somebody-who-looks-2207" };

const say = (text) => process.stderr.write(`${text}\n`);

/** A shop whose tables are put into a folder by hand. */
async function watched(name, page, shops) {
  const folder = join(scratch, name);
  const lines = [`[page]`, `listen = "127.0.0.1:0"`, ...page];
  for (const [shop, { table, tables }] of Object.entries(shops)) {
    await put(join(folder, shop), tables);
    lines.push(`[${table}sources.files]`, `role = "storefront"`, `folder = "${shop}"`, `every = "1 s"`);
  }
  const file = join(folder, "everyline.toml");
  await writeFile(file, lines.join("\n"));
  return { file, folder, start: () => Server.start(everyline, ["watch", "--config", file], WATCHING) };
}

async function quietShop() {
  const { folder, start } = await watched("quiet", [], { files: { table: "", tables: quiet() } });
  const server = await start();
  await until("the quiet shop to be looked at", 60_000, async () => (await server.ask("/ready")).status === 200);
  return Object.assign(server, { files: join(folder, "files") });
}

/** Two shops behind passwords, one of them hostile. */
async function guardedShops() {
  const page = [
    `password_hash = { file = "act.hash" }`,
    `look_password_hash = { file = "look.hash" }`,
    `tokens = [{ role = "act", token = { file = "act.token" } }, { role = "look", token = { file = "look.token" } }]`,
  ];
  const { folder, start } = await watched("guarded", page, {
    hostile: { table: "shops.hostile.", tables: hostile() },
    second: { table: "shops.second.", tables: quiet({ isSold: true }) },
  });
  for (const role of ["act", "look"]) {
    const hash = await run(everyline, ["config", "password"], { input: `${PASSWORDS[role]}\n` });
    await writeFile(join(folder, `${role}.hash`), hash);
    await writeFile(join(folder, `${role}.token`), `${TOKENS[role]}\n`);
  }
  const server = await start();
  await until("the guarded shops to be looked at", 60_000, async () => (await server.ask("/ready")).status === 200);
  return Object.assign(server, { passwords: PASSWORDS, tokens: TOKENS });
}

function demo() {
  return Server.start(everyline, ["demo", "--stay"], STAYING, { TMPDIR: scratch, NO_COLOR: "1" });
}

/** What comes of it, in time. */
async function bounded(work) {
  let timer;
  const late = new Promise((_, reject) => {
    timer = setTimeout(() => reject(new Error(`it is not done after ${ONE / 1000} s`)), ONE);
  });
  try {
    return await Promise.race([work, late]);
  } finally {
    clearTimeout(timer);
  }
}

async function work(browser) {
  const require = createRequire(join(packages, "package.json"));
  const axe = await readFile(require.resolve("axe-core/axe.min.js"), "utf8");
  const pages = await declared(root);
  const seen = new Set();
  const tools = { browser, axe, pages, seen, everyline, scratch };
  // The demo makes its day while the others are looked at.
  const servers = { demo: demo(), quiet: quietShop(), guarded: guardedShops() };
  for (const starting of Object.values(servers)) starting.catch(() => {});
  const every = async (shop, like) => everyPage(tools, await servers[shop], like);
  // Two at a time, for machines of two cores: what the demo shows beside all else, for it takes a minute to see a change.
  const own = [
    ["what is wrong on purpose is found", () => eachFaultIsFound(tools)],
    ["what nobody may do is refused", async () => refused(tools, await servers.guarded)],
    ["hostile texts are texts", async () => hostileTextsAreTexts(tools, await servers.guarded)],
    ["a quiet shop's pages hold", () => every("quiet", { own: "the quiet shop", problems: PROBLEMS })],
    ["what somebody does stays while news comes, until the cause is gone", async () => staysAsItIs(tools, await servers.quiet)],
    ["the exports that are dropped need one correction", () => exportsAreRead(tools)],
    ["files are dropped, one correction, findings", async () => dropped(tools, await servers.quiet)],
    ["the pages of hostile and several shops hold", () => every("guarded", { own: "the guarded shops", password: PASSWORDS.act })],
  ];
  const ofTheDemo = [
    ["by keys alone", async () => byKeysAlone(tools, await servers.demo)],
    ["without JavaScript, on a phone", async () => withoutScript(tools, await servers.demo)],
    ["from the queue to a link in force", async () => fromTheQueueToForce(tools, await servers.demo)],
    ["the demo's pages hold", () => every("demo", { own: "the demo" })],
  ];
  const atLast = [
    ["no page was left out", () => {
      const left = pages.filter((page) => !seen.has(page) && !["/", "/sign-in"].includes(page));
      ensure(left.length === 0, `no link leads to ${left.join(", ")}`);
    }],
  ];
  const failed = await Promise.all([checked(own), checked(ofTheDemo)]);
  return [...failed, await checked(atLast)].reduce((all, some) => all + some);
}

/** Makes the checks, one after the other, says what came of each, and answers how many failed. */
async function checked(checks) {
  let failed = 0;
  for (const [name, check] of checks) {
    const began = Date.now();
    try {
      const said = await bounded(check());
      say(`${name}${said ? `: ${said}` : ""} (${((Date.now() - began) / 1000).toFixed(0)} s)`);
    } catch (error) {
      failed += 1;
      say(`FAILED: ${name}: ${error.message}`);
    }
  }
  return failed;
}

async function main() {
  const require = createRequire(join(packages, "package.json"));
  const browser = await started(require("playwright-core"), chromium);
  say(`Chromium ${browser.version()}`);
  const end = async (code) => {
    await Promise.all([endAll(), browser.close().catch(() => {})]);
    process.exit(code);
  };
  for (const signal of ["SIGTERM", "SIGINT", "SIGHUP"]) process.on(signal, () => end(3));
  setTimeout(() => {
    say(`FAILED: it is not done after ${WHOLE / 1000} s`);
    end(3);
  }, WHOLE).unref();
  const failed = await work(browser);
  await end(failed === 0 ? 0 : 1);
}

main().catch(async (error) => {
  say(`FAILED: ${error.message}`);
  await endAll();
  process.exit(2);
});
