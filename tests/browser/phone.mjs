// A phone in a hall with bad Wi-Fi: a browser whose profile outlives it, and a network that can be cut, that can swallow answers, and
// through which each phone has an address of its own.
import assert from 'node:assert/strict';
import { readlinkSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { createServer, request as ask } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { text } from 'node:stream/consumers';
import { Visit, collectComplaints, demoPasswords, freePort, launchPhone, startServer } from './support.mjs';

/**
 * Between phone and server. `is`: 'there'; 'deaf': what is sent arrives and no answer comes back; 'hanging': nor does it break, until
 * `release`. Where `instead` gives a status for a request, that is answered here, as by a proxy of the club. `rewrite` is put to the
 * page that phones keep.
 */
export async function startNetwork(server) {
  const { port } = new URL(server);
  const network = { is: 'there', address: '198.51.100.1', instead: () => null, rewrite: null, hanging: [] };
  const between = createServer((from, to) => {
    const status = network.instead(from);
    if (status) {
      from.resume().on('end', () => to.writeHead(status, { 'content-type': 'text/html' }).end('<h1>Of the proxy</h1>'));
      return;
    }
    const rewrite = from.url === '/offline' ? network.rewrite : null;
    const headers = { ...from.headers, 'x-forwarded-for': network.address, ...(rewrite ? { 'accept-encoding': 'identity' } : {}) };
    const on = ask({ host: '127.0.0.1', port, path: from.url, method: from.method, headers }, async (answer) => {
      if (network.is === 'deaf') return to.destroy();
      if (network.is === 'hanging' && from.method === 'POST') await new Promise((go) => network.hanging.push(go));
      to.writeHead(answer.statusCode, rewrite ? { 'content-type': 'text/html' } : answer.headers);
      if (rewrite) to.end(rewrite(await text(answer)));
      else answer.pipe(to);
    });
    on.on('error', () => to.destroy());
    from.pipe(on);
  });
  network.release = () => {
    network.is = 'there';
    for (const go of network.hanging.splice(0)) go();
  };
  const own = await freePort();
  await new Promise((done) => between.listen(own, '127.0.0.1', done));
  network.base = `http://127.0.0.1:${own}`;
  network.end = () => new Promise((done) => { between.closeAllConnections(); between.close(done); });
  return network;
}

/** Its profile stays when it is killed; `start` again opens what was there. */
export class Phone {
  static async of(network) {
    const phone = new Phone();
    phone.network = network;
    phone.folder = await mkdtemp(join(tmpdir(), 'sandbucket-phone-'));
    return phone;
  }

  /** `offline`: it starts where there is no network. */
  async start({ offline = false } = {}) {
    this.context = await launchPhone(this.folder, this.network.base);
    await this.context.setOffline(offline);
    this.page = this.context.pages()[0] ?? await this.context.newPage();
    this.visit = new Visit({ context: this.context, page: this.page, complaints: [], javaScript: true, textScale: 1 });
    await collectComplaints(this.page, this.visit.complaints, true);
    return this.page;
  }

  cut() { return this.context.setOffline(true); }
  mend() { return this.context.setOffline(false); }

  /** As a battery that dies: nothing of the browser gets to finish anything. */
  async kill() {
    const pid = Number(readlinkSync(join(this.folder, 'SingletonLock')).split('-').pop());
    assert.ok(pid > 1, 'the browser of this phone has a process');
    const gone = new Promise((done) => this.context.once('close', done));
    process.kill(pid, 'SIGKILL');
    await gone;
    await Promise.all(['SingletonLock', 'SingletonCookie', 'SingletonSocket'].map((name) => rm(join(this.folder, name), { force: true })));
  }

  async end() {
    await this.context?.close().catch(() => {});
    await rm(this.folder, { recursive: true, force: true });
  }
}

/** Somebody who runs the pool, without a browser: what they read, and posters they make. */
export async function desk(base, name, password) {
  const send = (path, fields, cookie) => fetch(`${base}${path}`, {
    method: 'POST', redirect: 'manual', body: new URLSearchParams(fields), headers: { origin: base, ...(cookie ? { cookie } : {}) },
  });
  const answer = await send('/sign-in', { sign_in: name, password });
  const cookie = answer.headers.getSetCookie().map((line) => line.split(';')[0]).join('; ');
  assert.ok(cookie, `${name} is signed in: ${answer.status}`);
  return {
    read: async (path) => (await fetch(`${base}${path}`, { headers: { cookie } })).text(),
    bytes: async (path) => Buffer.from(await (await fetch(`${base}${path}`, { headers: { cookie } })).arrayBuffer()),
    status: async (path) => (await fetch(`${base}${path}`, { headers: { cookie } })).status,
    send: (path, fields) => send(path, { key: crypto.randomUUID(), ...fields }, cookie),
  };
}

/** The demo club, somebody who runs its pool, and a phone whose network can fail. */
export async function hallWithPhone() {
  const server = await startServer({ demo: true, environment: { SANDBUCKET_TRUSTED_PROXIES: '127.0.0.1' } });
  const network = await startNetwork(server.base);
  const phone = await Phone.of(network);
  const passwords = demoPasswords(server);
  const quinn = await desk(server.base, 'quinn', passwords.quinn);
  const end = async () => {
    await phone.end();
    await network.end();
    await server.stop();
  };
  return { server, network, phone, passwords, quinn, end };
}

export async function poster(quinn, name) {
  const made = await quinn.send('/posters', { name });
  const page = await quinn.read(made.headers.get('location'));
  return page.match(/href="(\/p\/[0-9a-z]+)"/)[1];
}

/** A small picture, made by hand: PNG of one red dot. */
const PICTURE = Buffer.from('iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mP8z8BQDwAEhQGAhKmMIQAAAABJRU5ErkJggg==', 'base64');
export const photo = { name: 'seen.png', mimeType: 'image/png', buffer: PICTURE };

/** As large as a phone's: some 100 kB of JPEG, drawn by the page itself. */
export async function photoOfPhone(page) {
  const [width, height] = [1200, 900];
  const url = await page.evaluate(([width, height]) => {
    const canvas = Object.assign(document.createElement('canvas'), { width, height });
    const pen = canvas.getContext('2d');
    for (let x = 0; x < width; x += 10) {
      for (let y = 0; y < height; y += 10) {
        pen.fillStyle = `hsl(${Math.random() * 360} 60% ${20 + Math.random() * 60}%)`;
        pen.fillRect(x, y, 10, 10);
      }
    }
    return canvas.toDataURL('image/jpeg', 0.5);
  }, [width, height]);
  const buffer = Buffer.from(url.split(',')[1], 'base64');
  assert.ok(buffer.length > 60_000 && buffer.length < 2_000_000, `as large as of a phone: ${buffer.length} bytes`);
  return { name: 'phone.jpg', mimeType: 'image/jpeg', buffer, width, height };
}

/** How wide and high a JPEG is, by its own head. */
export function measuresOf(jpeg) {
  assert.equal(jpeg.readUInt16BE(0), 0xffd8, 'a JPEG');
  for (let at = 2; at < jpeg.length; at += 2 + jpeg.readUInt16BE(at + 2)) {
    const mark = jpeg[at + 1];
    if (mark >= 0xc0 && mark <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(mark)) return { width: jpeg.readUInt16BE(at + 7), height: jpeg.readUInt16BE(at + 5) };
  }
  return assert.fail('no measures in it');
}

/** The phone has what it keeps. */
export const isReady = (page) => page.evaluate(() => navigator.serviceWorker.ready.then(() => caches.match('/offline')).then((page) => page !== undefined));

/** The reports with these words; each as its address. */
export async function told(quinn, words) {
  const list = await quinn.read('/reports');
  return list.split('<tr').filter((row) => row.includes(words)).map((row) => row.match(/href="(\/reports\/[^"]+)"/)[1]);
}

export async function until(what, is, ms = 30_000) {
  const giveUpAt = Date.now() + ms;
  while (!(await is())) {
    assert.ok(Date.now() < giveUpAt, `not within ${ms} ms: ${what}`);
    await new Promise((later) => setTimeout(later, 100));
  }
}

export async function hasPhoto(quinn, report) {
  return (await quinn.status(`${report}/photo`)) === 200;
}
