// Serves a db.json with json-server, on a free port of loopback. To standard output go the port and then each request,
// one a line. It ends when its standard input does, so that it outlives nobody who started it.
const jsonServer = require("json-server");

const app = jsonServer.create();
app.use((request, _answer, next) => {
  console.log(`${request.method} ${request.url}`);
  next();
});
app.use(jsonServer.defaults({ logger: false }));
app.use(jsonServer.router(process.argv[1], { foreignKeySuffix: "_key" }));
const server = app.listen(0, "127.0.0.1", () => console.log(server.address().port));
process.stdin.on("end", () => process.exit()).resume();
