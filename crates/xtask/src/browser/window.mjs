// A browser whose windows tell of everything that must not happen in them: a script that runs and is not the page's, an
// error, a dialog, what the page's policy forbids, a request to anywhere else. Nothing but loopback can be reached from it.
import { ensure } from "./everyline.mjs";

/** A name that leads to this machine, and that nobody gave the server. */
export const STRANGE_NAME = "evil.example";

/** How long anything in a window may take. */
const WITHIN = 20_000;

/** Starts the browser; `executable` is Chromium's. */
export function started(playwright, executable) {
  return playwright.chromium.launch({
    executablePath: executable,
    args: [`--host-resolver-rules=MAP ${STRANGE_NAME} 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost`],
    timeout: 60_000,
  });
}

/** What a window is like; each key may be left out. */
const USUAL = { width: 1280, height: 900, scheme: "light", script: true, may: [] };

/**
 * Opens a window of its own, with no cookies. `may` lists texts: what contains one of them may happen. Whoever opens it
 * closes it with `close`, which fails where something happened that must not.
 */
export async function opened(browser, like = {}) {
  const { width, height, scheme, script, may } = { ...USUAL, ...like };
  const context = await browser.newContext({
    viewport: { width, height },
    colorScheme: scheme,
    javaScriptEnabled: script,
    hasTouch: width < 500,
    reducedMotion: "reduce",
    serviceWorkers: "block",
  });
  context.setDefaultTimeout(WITHIN);
  const faults = [];
  await context.addInitScript(() => {
    addEventListener("securitypolicyviolation", (event) => {
      console.error(`forbidden by the policy: ${event.violatedDirective} ${event.blockedURI} ${event.sample}`);
    });
  });
  context.on("weberror", (error) => faults.push(`an error in the page: ${error.error()}`));
  context.on("dialog", (dialog) => {
    faults.push(`a dialog: ${dialog.message()}`);
    dialog.dismiss().catch(() => {});
  });
  context.on("console", (message) => {
    // What is not there is said by its status, which is looked at elsewhere.
    if (message.type() === "error" && !/Failed to load resource/.test(message.text())) {
      faults.push(`an error on the console: ${message.text()}`);
    }
  });
  const home = { origin: null };
  context.on("request", (request) => {
    const url = new URL(request.url());
    if (url.protocol === "data:" || url.protocol === "about:" || url.protocol === "blob:") return;
    home.origin ??= url.origin;
    if (url.origin !== home.origin) faults.push(`a request to another place: ${request.method()} ${request.url()}`);
  });
  const page = await context.newPage();
  return {
    page,
    context,
    async close() {
      const marked = script ? await page.evaluate(() => window.marked).catch(() => undefined) : undefined;
      await context.close();
      ensure(marked === undefined, `a text of the shop was run as a script (${marked})`);
      const left = faults.filter((fault) => !may.some((text) => fault.includes(text)));
      ensure(left.length === 0, `${left.length} things happened that must not:\n  ${left.slice(0, 5).join("\n  ")}`);
    },
  };
}

/** Does something in a window of its own, and closes it whatever happens. */
export async function within(browser, like, work) {
  const window = await opened(browser, like);
  let done;
  try {
    done = await work(window.page, window.context);
  } catch (error) {
    const at = window.page.url();
    await window.context.close().catch(() => {});
    throw new Error(`${error.message}\n  in the window at ${at}`, { cause: error });
  }
  await window.close();
  return done;
}

/** Signs in, where a page asks for it. */
export async function signIn(page, server, password) {
  await page.goto(`${server.url}/queue`);
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByRole("heading", { level: 1, name: "To do" }).waitFor();
}
