// The program that is looked at: it is started, ended, and asked over plain HTTP. Everything that was started here is
// ended by `endAll`, and nothing else.
import { spawn } from "node:child_process";
import { connect } from "node:net";

/** How long a server may take until it says where its page is; the demo makes a whole day first. */
const STARTING = 120_000;

/** How long a request by hand may take. */
const ANSWERING = 30_000;

/** How long a server may take to end by itself. */
const ENDING = 5_000;

const started = new Set();

/** A server, and where its page is. */
export class Server {
  constructor(child, said) {
    this.child = child;
    this.said = said;
  }

  /** Starts the program; its page is where what it says matches `place`. */
  static async start(program, args, place, environment = {}) {
    const child = spawn(program, args, { stdio: ["ignore", "pipe", "pipe"], env: { ...process.env, ...environment } });
    const server = new Server(child, { text: "" });
    started.add(server);
    server.gone = new Promise((resolve) => {
      child.on("exit", resolve);
      child.on("error", resolve);
    });
    for (const stream of [child.stdout, child.stderr]) {
      stream.setEncoding("utf8");
      stream.on("data", (text) => { server.said.text += text; });
    }
    const url = await until(`everyline ${args.join(" ")} to say where its page is`, STARTING, async () => {
      if (child.exitCode !== null) throw new Error(`everyline ${args.join(" ")} ended:\n${server.said.text}`);
      return place.exec(server.said.text)?.[1];
    });
    server.url = url.replace(/\/$/, "");
    server.port = Number(new URL(url).port);
    return server;
  }

  /** Asks for an address by hand; `more` may have a method, header lines and a body. Redirections are not followed. */
  ask(path, more = {}) {
    return raw(this.port, path, { host: `127.0.0.1:${this.port}`, ...more });
  }

  /** What is answered as JSON. */
  async json(path, more = {}) {
    const { status, body } = await this.ask(path, more);
    if (status !== 200) throw new Error(`${path} was answered with ${status}: ${body.slice(0, 300)}`);
    return JSON.parse(body);
  }

  async end() {
    started.delete(this);
    this.child.kill("SIGTERM");
    const timer = setTimeout(() => this.child.kill("SIGKILL"), ENDING);
    await this.gone;
    clearTimeout(timer);
  }
}

/** Ends all that was started here. */
export async function endAll() {
  await Promise.all([...started].map((server) => server.end()));
}

/** Runs the program to its end and answers what it wrote; any of these codes will do. */
export function run(program, args, { input = "", codes = [0], environment = {} } = {}) {
  return new Promise((resolve, reject) => {
    const child = spawn(program, args, { stdio: ["pipe", "pipe", "pipe"], env: { ...process.env, ...environment } });
    let [stdout, stderr] = ["", ""];
    const timer = setTimeout(() => child.kill("SIGKILL"), STARTING);
    child.stdout.setEncoding("utf8").on("data", (text) => { stdout += text; });
    child.stderr.setEncoding("utf8").on("data", (text) => { stderr += text; });
    child.on("error", reject);
    child.on("close", (code) => {
      clearTimeout(timer);
      if (codes.includes(code)) resolve(stdout);
      else reject(new Error(`everyline ${args.join(" ")} ended with ${code}\n${stdout}\n${stderr}`));
    });
    child.stdin.on("error", () => {});
    child.stdin.end(input);
  });
}

/**
 * One request as it is written here, to a port of loopback; `host: null` leaves the line out. Answers the status, the head
 * and the body.
 */
export function raw(port, path, { method = "GET", host, headers = {}, body = "", lines = [] } = {}) {
  return new Promise((resolve, reject) => {
    const socket = connect(port, "127.0.0.1");
    socket.setTimeout(ANSWERING, () => socket.destroy(new Error(`${method} ${path} was not answered in time`)));
    const head = [
      `${method} ${path} HTTP/1.1`,
      ...(host === null ? [] : [`Host: ${host}`]),
      "Connection: close",
      `Content-Length: ${Buffer.byteLength(body)}`,
      ...Object.entries(headers).map(([name, value]) => `${name}: ${value}`),
      ...lines,
    ];
    const parts = [];
    socket.on("connect", () => socket.write(`${head.join("\r\n")}\r\n\r\n${body}`));
    socket.on("data", (part) => parts.push(part));
    socket.on("error", reject);
    socket.on("end", () => {
      const text = Buffer.concat(parts).toString("utf8");
      const [all, first, answer] = /^([\s\S]*?)\r\n\r\n([\s\S]*)$/.exec(text) ?? [text, text, ""];
      if (!all.startsWith("HTTP/1.1 ")) return reject(new Error(`${method} ${path} was answered with ${text.slice(0, 200)}`));
      const cookie = /^set-cookie: ([^;\r]*)/im.exec(first)?.[1];
      resolve({ status: Number(first.split(" ")[1]), head: first, body: answer, cookie });
    });
  });
}

/** Waits until `look` answers something, or throws what was waited for. */
export async function until(what, limit, look) {
  const began = Date.now();
  for (;;) {
    const found = await look();
    if (found) return found;
    if (Date.now() - began > limit) throw new Error(`waited ${limit / 1000} s in vain for ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}

/** Fails with words where something does not hold. */
export function ensure(holds, words) {
  if (!holds) throw new Error(words);
}
