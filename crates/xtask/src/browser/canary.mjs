// Pages that are wrong on purpose: each of the faults that are looked for elsewhere must be found here, or nothing is looked
// for at all.
import { createServer } from "node:http";
import { ensure } from "./everyline.mjs";
import { tour } from "./keys.mjs";
import { looked } from "./looks.mjs";
import { within } from "./window.mjs";

const page = (body, head = "") => `<!doctype html><html lang="en"><head><title>Canary</title>
  <meta name="viewport" content="width=device-width, initial-scale=1">${head}</head><body><main><h1>Canary</h1>${body}</main></body></html>`;

/** By its path: what the page is, and in which words its fault has to be told; `headers` go with it. */
const FAULTS = {
  "/script": { html: page("<script>window.marked = 1</script>"), told: "run as a script" },
  "/dialog": { html: page("<script>alert(1)</script>"), told: "a dialog" },
  "/error": { html: page("<script>throw new Error('canary')</script>"), told: "an error in the page" },
  "/policy": {
    html: page("<p style='color: red'>red</p>"), told: "forbidden by the policy",
    headers: { "content-security-policy": "default-src 'self'; style-src 'self'" },
  },
  "/elsewhere": { html: page("<img alt='' src='http://localhost:9/x.png'>"), told: "a request to another place" },
  "/wide": { html: page("<p style='width: 2000px'>wide</p>"), told: "wider than the window" },
  "/out": { html: page("<div style='overflow: clip'><p style='margin-left: -40px'>out</p></div>"), told: "wider than the window" },
  "/small": {
    html: page("<button style='padding: 0; border: 0; width: 12px; height: 12px'>a</button><button style='padding: 0; border: 0; width: 12px; height: 12px'>b</button>"),
    told: "too small to be touched",
  },
  "/unnamed": { html: page("<img src='data:image/gif;base64,R0lGODlhAQABAAAAACw='>"), told: "axe-core, image-alt" },
  "/pale": { html: page("<p style='color: #767676; background: #fff'>pale</p>"), told: "axe-core, color-contrast-enhanced" },
  "/unseen": { html: page("<button>one</button>", "<style>:focus { outline: none }</style>"), told: "the focus cannot be seen" },
  "/covered": {
    html: page("<button>one</button><div style='position: fixed; inset: 0; background: #fff'></div>", "<style>:focus { outline: 3px solid #000 }</style>"),
    told: "is covered",
  },
  "/trap": {
    html: page("<input aria-label='one' onkeydown='event.preventDefault()'>", "<style>:focus { outline: 3px solid #000 }</style>"),
    told: "Tab does not come to an end",
  },
};

/** Finds each. */
export async function eachFaultIsFound({ browser, axe }) {
  const server = createServer((request, answer) => {
    const { html, headers } = FAULTS[request.url] ?? { html: page("") };
    answer.writeHead(200, { "content-type": "text/html", ...headers }).end(html);
  });
  await new Promise((resolve) => { server.listen(0, "127.0.0.1", resolve); });
  try {
    for (const [path, { told }] of Object.entries(FAULTS)) {
      const found = await within(browser, {}, async (window) => {
        await window.goto(`http://127.0.0.1:${server.address().port}${path}`);
        const faults = await looked(window, axe);
        const stopped = await tour(window).then(() => "", (error) => error.message);
        return [...faults, stopped].join("\n");
      }).catch((error) => error.message);
      ensure(found.includes(told), `the fault of ${path} was not found; found was: ${found || "nothing"}`);
    }
  } finally {
    server.closeAllConnections();
    await new Promise((resolve) => { server.close(resolve); });
  }
  return `${Object.keys(FAULTS).length} of ${Object.keys(FAULTS).length}`;
}
