// What nobody may do: without the right stamp or token, from a page of another origin, by a name that nobody gave the server.
// Each refusal is tried beside what is allowed, and afterwards nothing may have been done.
import { createServer } from "node:http";
import { ensure, raw } from "./everyline.mjs";
import { looked } from "./looks.mjs";
import { STRANGE_NAME, signIn, within } from "./window.mjs";

/** A page of somebody else on this machine, which tries what it can in the name of whoever looks at it. */
const ELSEWHERE = `<!doctype html><html lang="en"><title>Elsewhere</title><h1>Elsewhere</h1>`;

/** What could be done to the shop `second`: who is set aside. */
async function aside(server) {
  const headers = { Authorization: `Bearer ${server.tokens.look}` };
  const queue = await server.json("/api/queue?shop=second", { headers });
  return { queue, number: queue.set_aside };
}

export async function refused({ browser, axe }, server) {
  const { queue, number: before } = await aside(server);
  const finding = queue.tasks.flatMap((task) => task.concerned)[0]?.finding;
  ensure(finding, "nothing is found that could be set aside");
  await byHand(server, finding);
  await ofPagesElsewhere({ browser }, server, finding);
  await inWindows({ browser, axe }, server, finding);
  const { number } = await aside(server);
  ensure(number === before, `${number - before} findings were set aside by what must be refused`);
}

/** Requests as somebody writes them who has no browser. */
async function byHand(server, finding) {
  const path = `/api/findings/${finding}/set-aside?shop=second`;
  const bearer = (token) => ({ Authorization: `Bearer ${token}` });
  const json = { "Content-Type": "application/json" };
  const form = { "Content-Type": "application/x-www-form-urlencoded" };
  const put = { method: "PUT", body: `{"note":"x"}` };
  const post = { method: "POST", body: `shop=second&finding=${finding}&note=x` };
  const here = `127.0.0.1:${server.port}`;
  const { act, look } = server.tokens;
  const one = await server.ask("/sign-in");
  const other = await server.ask("/sign-in");
  const stamp = /name="stamp" value="([^"]+)"/.exec(other.body)[1];
  const tries = [
    ["nobody looks", 401, "/api/queue", {}],
    ["nobody sees a page", 401, "/queue", {}],
    ["nobody is told of changes", 401, "/events", {}],
    ["nobody sees figures", 401, "/metrics", {}],
    ["an unknown token", 401, "/api/queue", { headers: bearer(`${act}x`) }],
    ["a token of another scheme", 401, "/api/queue", { headers: { Authorization: `Basic ${act}` } }],
    ["an empty token", 401, "/api/queue", { headers: bearer("") }],
    ["a token in the address", 400, `/api/queue?token=${act}`, { headers: bearer(look) }],
    ["who may look acts", 403, path, { ...put, headers: { ...json, ...bearer(look) } }],
    ["nobody acts", 401, path, { ...put, headers: json }],
    ["nobody posts a form", 401, "/set-aside", { ...post, headers: form }],
    ["a form without a stamp", 403, "/sign-in", { method: "POST", body: `password=x`, headers: { ...form, Cookie: one.cookie } }],
    ["a form with the stamp of somebody else", 403, "/sign-in", { method: "POST", body: `stamp=${stamp}&password=x`, headers: { ...form, Cookie: one.cookie } }],
    ["a form with a stamp and no cookie", 403, "/sign-in", { method: "POST", body: `stamp=${stamp}&password=x`, headers: form }],
    ["a page of another site", 403, path, { ...put, headers: { ...json, ...bearer(act), "Sec-Fetch-Site": "cross-site" } }],
    ["a page of another port", 403, path, { ...put, headers: { ...json, ...bearer(act), "Sec-Fetch-Site": "same-site" } }],
    ["another origin", 403, path, { ...put, headers: { ...json, ...bearer(act), Origin: `http://${STRANGE_NAME}` } }],
    ["no origin to be told", 403, path, { ...put, headers: { ...json, ...bearer(act), Origin: "null" } }],
    ["a body of another kind", 415, path, { ...put, headers: { "Content-Type": "text/plain", ...bearer(act) } }],
    ["a body that is too long", 413, path, { method: "PUT", body: `{"note":"${"x".repeat(70_000)}"}`, headers: { ...json, ...bearer(act) } }],
    ["a strange name", 421, "/api/queue", { host: STRANGE_NAME, headers: bearer(act) }],
    ["a strange name with our port", 421, "/api/queue", { host: `${STRANGE_NAME}:${server.port}`, headers: bearer(act) }],
    ["a name that begins as ours", 421, "/api/queue", { host: `${here}.${STRANGE_NAME}`, headers: bearer(act) }],
    ["an address that is not ours", 421, "/api/queue", { host: "192.0.2.7", headers: bearer(act) }],
    ["no name at all", 400, "/api/queue", { host: null, headers: bearer(act) }],
    ["two names", 400, "/api/queue", { lines: [`Host: ${STRANGE_NAME}`], headers: bearer(act) }],
    ["a strange name in the address", [400, 421], `http://${STRANGE_NAME}/api/queue`, { headers: bearer(act) }],
    ["another method", 405, "/api/queue", { method: "TRACE", headers: bearer(act) }],
  ];
  for (const [what, wanted, at, more] of tries) {
    const { status, head, body } = await raw(server.port, at, { host: here, ...more });
    ensure([wanted].flat().includes(status), `${what}: answered with ${status}, expected is ${wanted}\n${body.slice(0, 300)}`);
    ensure(!/^access-control-/im.test(head), `${what}: the answer lets other origins in`);
    ensure(!body.includes(finding), `${what}: the answer tells of a finding`);
  }
  // What is allowed is answered, so that the refusals above say something.
  const allowed = await server.ask("/api/queue", { headers: bearer(look) });
  ensure(allowed.status === 200, `who may look is answered with ${allowed.status}`);
  const done = await server.ask(path, { ...put, headers: { ...json, ...bearer(act) } });
  const undone = await server.ask(path, { method: "DELETE", headers: bearer(act) });
  ensure(done.status === 204 && undone.status === 204, `who may act is answered with ${done.status} and ${undone.status}`);
}

/** Pages of other origins on this machine, in the browser of somebody who is signed in: cookies do not tell ports apart. */
async function ofPagesElsewhere({ browser }, server, finding) {
  const strangers = createServer((_request, answer) => answer.writeHead(200, { "content-type": "text/html" }).end(ELSEWHERE));
  await new Promise((resolve) => { strangers.listen(0, "127.0.0.1", resolve); });
  const port = strangers.address().port;
  try {
    // What is tried here is seen by the browser as errors and requests to another place; that is what it is about.
    const may = ["a request to another place", "an error on the console"];
    await within(browser, { may }, async (page, context) => {
      await signIn(page, server, server.passwords.act);
      for (const origin of [`http://127.0.0.1:${port}`, `http://localhost:${port}`]) {
        const stranger = await context.newPage();
        await stranger.goto(origin);
        const got = await stranger.evaluate(async ({ url, finding }) => {
          const tried = async (work) => {
            try {
              const answer = await work();
              return answer.type === "opaque" ? "opaque" : `status ${answer.status} ${(await answer.text()).slice(0, 40)}`;
            } catch {
              return "refused";
            }
          };
          const all = { credentials: "include" };
          const path = `${url}/api/findings/${finding}/set-aside?shop=second`;
          return {
            looks: await tried(() => fetch(`${url}/api/queue`, all)),
            looksBlindly: await tried(() => fetch(`${url}/api/queue`, { ...all, mode: "no-cors" })),
            acts: await tried(() => fetch(path, { ...all, method: "PUT", body: `{"note":"x"}`, headers: { "Content-Type": "application/json" } })),
            actsSimply: await tried(() => fetch(path, { ...all, method: "POST", body: `{"note":"x"}`, mode: "no-cors" })),
            posts: await tried(() => fetch(`${url}/set-aside`, {
              ...all, method: "POST", mode: "no-cors", body: new URLSearchParams({ shop: "second", finding, note: "x" }),
            })),
            listens: await new Promise((resolve) => {
              const events = new EventSource(`${url}/events`, { withCredentials: true });
              events.onopen = () => resolve("open");
              events.onerror = () => { events.close(); resolve("refused"); };
            }),
            shows: await new Promise((resolve) => {
              const image = new Image();
              image.onload = () => resolve("shown");
              image.onerror = () => resolve("refused");
              image.src = `${url}/api/queue`;
            }),
          };
        }, { url: server.url, finding });
        for (const [what, came] of Object.entries(got)) {
          // That an opaque answer came says nothing of what was done; that nothing was, is looked at in the end.
          ensure(came === "refused" || came === "opaque", `a page of ${origin} ${what}: ${came}`);
        }
        // It posts a form as a link would be followed, and shows a page of ours within its own.
        await stranger.evaluate(({ url, finding }) => {
          const form = document.createElement("form");
          Object.assign(form, { method: "post", action: `${url}/set-aside` });
          for (const [name, value] of Object.entries({ shop: "second", finding, note: "x" })) {
            form.append(Object.assign(document.createElement("input"), { name, value, type: "hidden" }));
          }
          document.body.append(form);
          form.submit();
        }, { url: server.url, finding });
        await stranger.waitForURL(`${server.url}/set-aside`);
        const said = await stranger.evaluate(() => document.body.innerText);
        ensure(/another page wanted this done|sign in/i.test(said), `a form of ${origin} was answered with: ${said.slice(0, 200)}`);
        await stranger.goto(origin);
        await stranger.evaluate((url) => new Promise((resolve) => {
          const frame = document.createElement("iframe");
          frame.onload = resolve;
          frame.src = `${url}/queue`;
          document.body.append(frame);
        }), server.url);
        const frames = stranger.frames().map((frame) => frame.url());
        ensure(!frames.some((url) => url.startsWith(server.url)), `a page of ${origin} shows ours within its own: ${frames}`);
        await stranger.close();
      }
    });
  } finally {
    strangers.closeAllConnections();
    await new Promise((resolve) => { strangers.close(resolve); });
  }
}

/** What somebody sees who may not, or comes by a strange name; each of these pages is looked at too. */
async function inWindows({ browser, axe }, server, finding) {
  const sees = async (page, what, words) => {
    const said = await page.evaluate(() => document.body.innerText);
    ensure(words.test(said), `${what}: the page says ${said.slice(0, 300)}`);
    ensure(!said.includes("KK-"), `${what}: the page tells of an order`);
    const faults = await looked(page, axe);
    ensure(faults.length === 0, `${what}: ${faults.join("; ")}`);
  };
  for (const [width, scheme] of [[360, "dark"], [1280, "light"]]) {
    await within(browser, { width, scheme }, async (page) => {
      await page.goto(`${server.url}/orders/KK-302?shop=second`);
      await sees(page, "nobody asks for an order", /Sign in/);
      await page.goto(`${server.url}/nothing`);
      await sees(page, "nobody asks for what is not there", /Nothing is there/);
    });
    // The style is refused by that name too, which is seen on the console.
    await within(browser, { width, scheme, may: ["an error on the console"] }, async (page) => {
      await page.goto(`http://${STRANGE_NAME}:${server.port}/queue`);
      await sees(page, "a strange name", /does not go by the name/);
    });
  }
  await within(browser, {}, async (page) => {
    await page.goto(`${server.url}/queue`);
    await page.getByLabel("Password").fill("stone and moss");
    await page.getByRole("button", { name: "Sign in" }).click();
    await page.getByRole("alert").waitFor();
    await sees(page, "a wrong password", /That is not the password/);
    await page.getByLabel("Password").fill(server.passwords.look);
    await page.getByRole("button", { name: "Sign in" }).click();
    await page.getByText("You may look, and change nothing.").waitFor();
    for (const path of ["/queue?shop=second", "/orders/KK-302?shop=second", "/listings/second/KL-30"]) {
      await page.goto(server.url + path);
      const forms = await page.locator("main form[method=post]").count();
      ensure(forms === 0, `${path} has ${forms} forms for somebody who may only look`);
    }
    // Whoever makes such a form by hand is refused, with the stamp and all.
    await page.evaluate((finding) => {
      const form = document.createElement("form");
      Object.assign(form, { method: "post", action: "/set-aside" });
      const stamp = document.querySelector("input[name=stamp]").value;
      for (const [name, value] of Object.entries({ stamp, shop: "second", finding, note: "x" })) {
        form.append(Object.assign(document.createElement("input"), { name, value, type: "hidden" }));
      }
      document.body.append(form);
      form.submit();
    }, finding);
    await page.getByText("may look and change nothing").waitFor();
    await page.getByRole("button", { name: "Sign out" }).click();
    await page.getByRole("heading", { name: "Sign in" }).waitFor();
    await page.goto(`${server.url}/queue`);
    await sees(page, "somebody who signed out", /Sign in/);
  });
}
