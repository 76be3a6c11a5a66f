// A phone in a hall with bad Wi-Fi: a browser whose profile outlives it, and a network that can be cut, that can swallow answers, and
// through which each phone has an address of its own.
import assert from 'node:assert/strict';
import { readlinkSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { createServer, request as ask } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Visit, collectComplaints, freePort, launchPhone } from './support.mjs';

/** Between phone and server. `is`: 'there'; 'deaf': what is sent arrives and no answer comes back. */
export async function startNetwork(server) {
  const { port } = new URL(server);
  const network = { is: 'there', address: '198.51.100.1' };
  const between = createServer((from, to) => {
    const headers = { ...from.headers, 'x-forwarded-for': network.address };
    const on = ask({ host: '127.0.0.1', port, path: from.url, method: from.method, headers }, (answer) => {
      if (network.is === 'deaf') return to.destroy();
      to.writeHead(answer.statusCode, answer.headers);
      answer.pipe(to);
    });
    on.on('error', () => to.destroy());
    from.pipe(on);
  });
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
    status: async (path) => (await fetch(`${base}${path}`, { headers: { cookie } })).status,
    send: (path, fields) => send(path, { key: crypto.randomUUID(), ...fields }, cookie),
  };
}
