// What every browser test stands on: a server of its own, Debian's Chromium, and the checks that hold on every page.
//
//   const hall = await startHall();              // server on a fresh SQLite file, and a browser; { onPostgres: true } for the other
//   const visit = await hall.open(390);          // a fresh visitor; options: { javaScript, colorScheme, textScale, storageState }
//   await visit.go('/packs');                    // fails on 5xx
//   await visit.axe();                           // all rules, or one: visit.axe('color-contrast')
//   await visit.noSidewaysScroll();  await visit.shot('packs-390');
//   await visit.close();                         // fails when the console, the page or the CSP complained meanwhile
//   await hall.end();
//
// axe is a script, so it can't look at a page whose JavaScript is off. Such a page is checked by what it shows and does; the same
// HTML is looked at by axe in a visit with JavaScript on. axe itself is put in through the debugging protocol, past the page's
// CSP, so the policy stays in force for everything else.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { existsSync } from 'node:fs';
import { mkdir, mkdtemp, readFile, rm } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

const here = dirname(fileURLToPath(import.meta.url));
const root = resolve(here, '../..');
const axeSource = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const isRoot = process.getuid?.() === 0;

const AXE_TAGS = ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** A port nobody listens on just now. */
export function freePort() {
  return new Promise((found, failed) => {
    const socket = createServer().on('error', failed);
    socket.listen(0, '127.0.0.1', () => {
      const { port } = socket.address();
      socket.close(() => found(port));
    });
  });
}

/** Our own settings must not leak into a server under test: it refuses those it does not know. */
function cleanEnvironment() {
  return Object.fromEntries(Object.entries(process.env).filter(([name]) => !name.startsWith('SANDBUCKET_')));
}

/** A database of its own on the PostgreSQL that ./check started; gives its address and how to drop it. */
async function newPostgres() {
  const server = process.env.SANDBUCKET_TEST_POSTGRES;
  assert.ok(server, 'SANDBUCKET_TEST_POSTGRES names no PostgreSQL: ./check starts one');
  const name = `browser_${randomUUID().replaceAll('-', '')}`;
  const sql = (text) => runToTheEnd('psql', [server, '--quiet', '--command', text], {});
  await sql(`CREATE DATABASE ${name}`);
  const address = new URL(server);
  address.pathname = `/${name}`;
  return { url: address.href, drop: () => sql(`DROP DATABASE ${name} WITH (FORCE)`) };
}

/**
 * Starts the built program on a fresh SQLite file, or on a fresh database of PostgreSQL, and waits until it is ready.
 * Gives { base, setUpCode (or null), output(), stop() }. With `demo` the demo club is put in before serving;
 * what that printed is in `demoOutput`.
 */
export async function startServer({ demo = false, onPostgres = false, environment = {} } = {}) {
  const program = join(root, 'target/debug/sandbucket');
  assert.ok(existsSync(program), `${program} is missing: cargo build first`);
  const folder = await mkdtemp(join(tmpdir(), 'sandbucket-browser-'));
  const port = await freePort();
  const base = `http://127.0.0.1:${port}`;
  const postgres = onPostgres ? await newPostgres() : null;
  const cleared = async () => {
    await postgres?.drop();
    await rm(folder, { recursive: true, force: true });
  };
  const env = {
    ...cleanEnvironment(),
    SANDBUCKET_LISTEN: `127.0.0.1:${port}`,
    SANDBUCKET_DATABASE_URL: postgres?.url ?? `sqlite://${join(folder, 'club.db')}`,
    SANDBUCKET_CREATE_DATABASE: 'true',
    ...environment,
  };
  let demoOutput = '';
  let child;
  try {
    if (demo) demoOutput = await runToTheEnd(program, ['demo'], { env, cwd: folder });
    child = spawn(program, ['serve'], { env, cwd: folder, stdio: ['ignore', 'pipe', 'pipe'] });
    const said = listenTo(child);
    await untilReady(base, child, said);
    const setUpCode = said().match(/set-up code:\s*(\S+)/)?.[1] ?? null;
    return { base, setUpCode, demoOutput, output: said, stop: () => stopServer(child, cleared) };
  } catch (error) {
    await stopServer(child, cleared);
    throw error;
  }
}

function listenTo(child) {
  let text = '';
  child.stdout.on('data', (bytes) => { text += bytes; });
  child.stderr.on('data', (bytes) => { text += bytes; });
  child.on('error', (error) => { text += error.message; });
  return () => text;
}

async function runToTheEnd(program, words, options) {
  const child = spawn(program, words, { ...options, stdio: ['ignore', 'pipe', 'pipe'] });
  const said = listenTo(child);
  const code = await new Promise((ended) => child.on('close', ended));
  assert.equal(code, 0, `${words.join(' ')} failed:\n${said()}`);
  return said();
}

async function untilReady(base, child, said) {
  const giveUpAt = Date.now() + 30_000;
  while (Date.now() < giveUpAt) {
    assert.equal(child.exitCode, null, `the server ended by itself:\n${said()}`);
    const isReady = await fetch(`${base}/health/ready`).then((answer) => answer.ok, () => false);
    if (isReady) return;
    await new Promise((later) => setTimeout(later, 50));
  }
  assert.fail(`the server was not ready within 30 s:\n${said()}`);
}

async function stopServer(child, cleared) {
  if (child && child.exitCode === null && child.signalCode === null) {
    const ended = new Promise((done) => child.once('close', done));
    child.kill('SIGTERM');
    const late = setTimeout(() => child.kill('SIGKILL'), 5_000);
    await ended;
    clearTimeout(late);
  }
  await cleared();
}

/** Debian's Chromium. Its sandbox is off only where it can't work: for root. */
function ofDebian(more = []) {
  const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium';
  assert.ok(existsSync(executablePath), `${executablePath} is missing: apt-get install chromium`);
  return {
    executablePath,
    headless: true,
    chromiumSandbox: !isRoot,
    args: ['--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync', ...more],
  };
}

export function launchBrowser(more = []) {
  return chromium.launch(ofDebian(more));
}

/** One with a profile of its own that outlives it, 390 px wide. */
export function launchPhone(profile, base) {
  return chromium.launchPersistentContext(profile, {
    ...ofDebian(), baseURL: base, viewport: { width: 390, height: 844 }, hasTouch: true, reducedMotion: 'reduce',
  });
}

/** A server and a browser together. */
export async function startHall(options) {
  const server = await startServer(options);
  try {
    const browser = await launchBrowser();
    return {
      ...server,
      browser,
      open: (width, how) => openVisit(browser, width, { base: server.base, ...how }),
      end: async () => {
        await browser.close();
        await server.stop();
      },
    };
  } catch (error) {
    await server.stop();
    throw error;
  }
}

/** What the demo club's people sign in with, by their sign-in. */
export function demoPasswords(hall) {
  const rows = hall.demoOutput.matchAll(/^ {2}\w+\s+(\w+)\s+(\S+)$/gm);
  return Object.fromEntries([...rows].map((row) => [row[1], row[2]]));
}

export async function signIn(visit, name, password) {
  await visit.go('/sign-in');
  await visit.page.getByLabel('Sign-in', { exact: true }).fill(name);
  await visit.page.getByLabel('Password', { exact: true }).fill(password);
  // Answered, so that whoever goes on at once does not cut it off.
  const answered = visit.page.waitForResponse((response) => response.request().method() === 'POST');
  await visit.page.getByRole('button', { name: 'Sign in' }).click();
  await answered;
}

/** A fresh visitor with an own context. `textScale` 2 means text at 200 %. */
export async function openVisit(browser, width, how = {}) {
  const { base, javaScript = true, colorScheme = 'light', textScale = 1, storageState } = how;
  const context = await browser.newContext({
    baseURL: base,
    viewport: { width, height: width < 600 ? 844 : 900 },
    hasTouch: width < 600,
    javaScriptEnabled: javaScript,
    colorScheme,
    reducedMotion: 'reduce',
    storageState,
  });
  const page = await context.newPage();
  const complaints = [];
  await collectComplaints(page, complaints, javaScript);
  return new Visit({ context, page, complaints, javaScript, textScale });
}

/** A refused form answers 422 and Chromium logs that as an error of the console; it is none. */
export async function collectComplaints(page, complaints, javaScript) {
  page.on('console', (message) => {
    const isAnsweredStatus = /Failed to load resource: the server responded with a status of 4\d\d/.test(message.text());
    if (message.type() === 'error' && !isAnsweredStatus) complaints.push(`console: ${message.text()}`);
  });
  page.on('pageerror', (error) => complaints.push(`page: ${error.message}`));
  page.on('requestfailed', (request) => {
    const reason = request.failure()?.errorText ?? '';
    // A request given up because the page moved on is none either.
    if (reason !== 'net::ERR_ABORTED') complaints.push(`request: ${request.url()} ${reason}`);
  });
  page.on('response', (answer) => {
    if (answer.status() >= 500) complaints.push(`answer: ${answer.status()} ${answer.url()}`);
    const isPart = !answer.request().isNavigationRequest();
    // A script's form may be refused as any other.
    const isRefusal = answer.request().method() === 'POST' && answer.status() === 422;
    if (isPart && answer.status() >= 400 && !isRefusal) complaints.push(`answer: ${answer.status()} ${answer.url()}`);
  });
  if (!javaScript) return;
  await page.exposeFunction('tellPolicyViolation', (text) => complaints.push(`policy: ${text}`));
  await page.addInitScript(() => {
    document.addEventListener('securitypolicyviolation', (event) => {
      window.tellPolicyViolation(`${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}:${event.lineNumber}`);
    });
  });
}

/** One visitor with one page. `page` and `context` are playwright's own, for whatever has no word here. */
export class Visit {
  constructor(parts) {
    Object.assign(this, parts);
  }

  async go(address) {
    const answer = await this.page.goto(address);
    if (answer) assert.ok(answer.status() < 500, `${address} answered ${answer.status()}`);
    if (this.textScale !== 1) await this.enlargeText();
    return answer;
  }

  async enlargeText() {
    await setStyle(this.page, `html { font-size: ${this.textScale * 100}% !important; }`);
  }

  axe(rule) { return axe(this, rule); }
  noSidewaysScroll() { return noSidewaysScroll(this.page); }
  bigTargets(selector) { return bigTargets(this.page, selector); }
  press(keys) { return press(this.page, keys); }
  tabTo(words) { return tabTo(this.page, words); }
  shot(name) { return shot(this.page, name); }

  assertQuiet() {
    assert.deepEqual(this.complaints, [], 'the browser complained');
  }

  async close() {
    await this.context.close();
    this.assertQuiet();
  }
}

/** Puts a style in past the page's CSP, through the debugging protocol. */
async function setStyle(page, css) {
  await page.evaluate((text) => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(text);
    document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
  }, css);
}

/** axe's violations on the page as it is, each as one sentence: of all rules, or of the one named. */
export async function axeFindings(page, rule) {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axeSource);
  const asked = rule
    ? { runOnly: { type: 'rule', values: [rule] } }
    : { runOnly: { type: 'tag', values: AXE_TAGS }, rules: { 'target-size': { enabled: true } } };
  const result = await page.evaluate((options) => window.axe.run(document, options), { ...asked, resultTypes: ['violations'] });
  return result.violations.flatMap((violation) =>
    violation.nodes.map((node) => `${violation.id}: ${violation.help} at ${node.target.join(' ')}`));
}

/** Fails on any violation. */
export async function axe(visit, rule) {
  assert.ok(visit.javaScript, 'axe is a script: it needs a visit with JavaScript on');
  assert.deepEqual(await axeFindings(visit.page, rule), [], `axe on ${visit.page.url()}`);
}

/** Nothing makes the page wider than the window. */
export async function noSidewaysScroll(page) {
  const { shown, needed } = await page.evaluate(() => ({
    shown: document.documentElement.clientWidth,
    needed: document.documentElement.scrollWidth,
  }));
  assert.ok(needed <= shown, `${page.url()} is ${needed} px wide in a window of ${shown} px`);
}

/**
 * What is tapped in the hall is at least 44 x 44 CSS px: all that `selector` names; without one every field, button and link,
 * but for links inside a sentence that are not marked as an action.
 */
export async function bigTargets(page, selector) {
  const all = page.locator(selector ?? 'button, input:not([type=hidden]), select, textarea, summary, main a[href]');
  const small = await all.evaluateAll((elements, isNamed) => {
    const isInSentence = (link) => {
      const block = link.closest('p, li, td, th, dd, h2, main');
      const around = [...block.querySelectorAll('a')].reduce((text, other) => text.replace(other.textContent, ''), block.textContent);
      return /[\p{L}\p{N}]/u.test(around);
    };
    return elements
      .filter((element) => !element.closest('[aria-hidden=true]'))
      .filter((element) => isNamed || !element.matches('a:not(.tap)') || !isInSentence(element))
      .map((element) => {
        const label = element.matches('[type=checkbox], [type=radio]') ? element.closest('label') ?? element.labels?.[0] : null;
        const box = (label ?? element).getBoundingClientRect();
        return { name: `${element.tagName} ${element.getAttribute('name') ?? element.textContent.trim()}`, width: box.width, height: box.height };
      })
      .filter((box) => box.width > 0 && (box.width < 44 || box.height < 44));
  }, selector !== undefined);
  assert.deepEqual(small, [], `too small to tap on ${page.url()}`);
}

/** Presses keys one after the other: press(page, 'Tab Tab Enter'). */
export async function press(page, keys) {
  for (const key of keys.split(' ')) await page.keyboard.press(key);
}

/** Goes by the Tab key until what has the focus is named `words`; fails when a round brings nothing or the focus can't be seen. */
export async function tabTo(page, words, atMost = 120) {
  for (let pressed = 0; pressed < atMost; pressed += 1) {
    await page.keyboard.press('Tab');
    const focus = await page.evaluate(() => {
      const element = document.activeElement;
      const style = getComputedStyle(element);
      const label = element.labels?.[0]?.textContent ?? element.getAttribute('aria-label') ?? element.textContent ?? '';
      const hasRing = style.outlineStyle !== 'none' && Number.parseFloat(style.outlineWidth) > 0;
      return { label: label.replace(/\s+/g, ' ').trim(), isBody: element === document.body, isSeen: hasRing || style.boxShadow !== 'none' };
    });
    // Between the last stop and the first the page itself has the focus.
    if (focus.isBody) continue;
    assert.ok(focus.isSeen, `the focus on "${focus.label}" can't be seen`);
    if (focus.label.includes(words)) return;
  }
  assert.fail(`no way by the Tab key to "${words}" on ${page.url()}`);
}

/** A picture of the whole page in tests/browser/shots, which is not kept in the repository. */
export async function shot(page, name) {
  await mkdir(join(here, 'shots'), { recursive: true });
  await page.screenshot({ path: join(here, 'shots', `${name}.png`), fullPage: true });
}
