// What stands between a phone and the server: it hands on every request, and can cut
// one half way, keep an answer back, or give a file another text.
import http from "node:http";

export class Between {
  cutUpload = () => false; // of the request: its sender is cut off at half of its body
  cut = 0;
  keepBack = () => false; // of the request: it is carried out and never answered
  keptBack = 0;
  change = (path, text) => text; // what a script of the app says

  static async of(site) {
    const between = new Between(site.url);
    await new Promise((done) => between.server.listen(0, "127.0.0.1", done));
    between.url = `http://127.0.0.1:${between.server.address().port}`;
    return between;
  }

  constructor(target) {
    this.target = new URL(target);
    this.server = http.createServer((ask, answer) => this.hand(ask, answer));
  }

  /** The same site, as a phone sees it through this. */
  site(site) {
    return Object.assign(Object.create(site), { url: this.url });
  }

  close() {
    this.server.closeAllConnections();
    this.server.close();
  }

  hand(ask, answer) {
    const headers = { ...ask.headers, host: this.target.host, "accept-encoding": "identity" };
    delete headers["if-none-match"]; // what is the same there may be another here
    delete headers["if-modified-since"];
    if (headers.origin) headers.origin = this.target.origin;
    const on = http.request({ host: this.target.hostname, port: this.target.port, method: ask.method, path: ask.url, headers });
    on.on("error", () => answer.destroy());
    on.on("response", (got) => void this.handBack(ask, got, answer));
    if (this.cutUpload(ask)) return this.cutAtHalf(ask, on);
    ask.pipe(on);
  }

  cutAtHalf(ask, on) {
    let left = Number(ask.headers["content-length"]) / 2;
    ask.on("data", (piece) => {
      if (left <= 0) return;
      on.write(piece.subarray(0, left));
      left -= piece.length;
      if (left > 0) return;
      this.cut++;
      on.destroy();
      ask.socket.destroy();
    });
  }

  async handBack(ask, got, answer) {
    const pieces = [];
    for await (const piece of got) pieces.push(piece);
    if (this.keepBack(ask)) return void this.keptBack++;
    let body = Buffer.concat(pieces);
    if (/javascript/.test(got.headers["content-type"])) body = Buffer.from(this.change(ask.url, body.toString()));
    const { "transfer-encoding": _, ...headers } = got.headers;
    answer.writeHead(got.statusCode, { ...headers, "content-length": body.length });
    answer.end(body);
  }
}
