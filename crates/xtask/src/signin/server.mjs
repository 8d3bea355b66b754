// An authorization server, oauth2-mock-server, and a source that takes its tokens, each on a free port of loopback. To
// standard output go both ports and then each request, one a line. It ends when its standard input does, so that it outlives
// nobody who started it.
import { randomUUID } from "node:crypto";
import { createServer } from "node:http";
import { OAuth2Server } from "oauth2-mock-server";

const good = new Set();
let refresh = null;
let isRevoked = false;

const identity = new OAuth2Server();
await identity.issuer.keys.generate("RS256");
// Two that are signed within a second would be the same.
identity.service.on("beforeTokenSigning", (token) => {
  token.payload.jti = randomUUID();
});
identity.service.on("beforeAuthorizeRedirect", (_redirect, request) => {
  console.log(`authorize ${request.query.client_id} ${request.query.scope} ${request.query.audience}`);
});
identity.service.on("beforeResponse", (response, request) => {
  const { grant_type: grant, refresh_token: given } = request.body;
  console.log(`token ${grant}`);
  if (grant === "refresh_token" && (isRevoked || given !== refresh)) {
    response.statusCode = 400;
    response.body = { error: "invalid_grant" };
    return;
  }
  good.add(response.body.access_token);
  // Each is good for one time.
  refresh = response.body.refresh_token ?? refresh;
});
await identity.start(0, "127.0.0.1");

const orders = [{ number: "KK-1", made: new Date().toISOString(), state: "paid", lines: [{ id: "1", count: 2 }] }];
const told = {
  "/told/mark": () => console.log("mark"),
  "/told/run-out": () => good.clear(),
  "/told/revoke": () => {
    good.clear();
    isRevoked = true;
  },
  "/told/allow": () => {
    isRevoked = false;
  },
};
const source = createServer((request, answer) => {
  if (request.method === "POST" && told[request.url]) {
    told[request.url]();
    answer.writeHead(204).end();
    return;
  }
  const token = (request.headers.authorization ?? "").replace(/^Bearer /, "");
  const status = good.has(token) ? 200 : 401;
  console.log(`${request.method} ${request.url} ${status}`);
  const body = status === 200 ? { orders, jobs: [] } : { error: "no" };
  answer.writeHead(status, { "content-type": "application/json" }).end(JSON.stringify(body));
});
source.listen(0, "127.0.0.1", () => {
  console.log(identity.address().port);
  console.log(source.address().port);
});
process.stdin.on("end", () => process.exit()).resume();
