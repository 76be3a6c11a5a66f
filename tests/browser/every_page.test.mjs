// Every page of the program, in a club where something happened and in one where nothing did: met by following the links that
// each role is shown, looked at by axe at 320 and 1280 px (as the roles after the first see it, at one of them), in the dark, as the first of them sees it, for its colours at a width that changes from page to page (with
// SANDBUCKET_LONG=1 at 320, 390 and 1280 px, light and dark), for sideways scrolling at each width (also at 200 % text), and its HTML checked. Then every form is sent empty, and the refusals are looked at too. That no route is left out is
// checked against the program's own table.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { test } from 'node:test';
import { HtmlValidate } from 'html-validate';
import { demoPasswords, signIn, startHall } from './support.mjs';

const WIDTHS = [320, 390, 1280];
/** The phone between the other two has their layout: there axe looks in the long run alone. */
const AXE_WIDTHS = process.env.SANDBUCKET_LONG ? WIDTHS : [320, 1280];
/** How many addresses of one route are looked at; all the packs are, since each state looks different. */
const OF_A_ROUTE = 2;
const OF_PACKS = 20;

/** Not pages, or pages that a link with a secret or a form leads to: these are met by hand below. */
const NO_PAGES = ['/health/live', '/health/ready', '/static/{build}/{name}', '/', '/labels/sheet.pdf', '/packs/{number}/label.svg', '/packs/{number}/charge.pdf',
  '/packs/{number}/photos/{photo}', '/packs/{number}/photos/{photo}/small', '/reports/{id}/photo', '/reports/{id}/photo/small', '/book/{incident}/files/{file}', '/posters/{id}/code.svg', '/worker.js', '/api/openapi.json',
  '/book/check.html', '/wall-card.pdf', '/posters/{id}/poster.pdf', '/book/export.zip', '/book/export.pdf', '/book/{incident}/export.zip', '/book/{incident}/export.pdf', ...sheets()];
/** Forms that end something when they are sent; sending them empty would not be refused. */
const ENDS = /sign-out|\/end|close|deactivate|erase|reopen|mend|link|reactivate/;

const validator = new HtmlValidate({
  extends: ['html-validate:standard'],
  rules: {
    // The style of the source, not its validity.
    'void-style': 'off', 'no-trailing-whitespace': 'off', 'no-inline-style': 'error', 'long-title': 'off',
    // axe judges what a screen reader meets; these go beyond the standard.
    'prefer-native-element': 'off', 'no-implicit-button-type': 'off', 'no-raw-characters': 'off', 'wcag/h32': 'off',
    'attribute-boolean-style': 'off', 'no-redundant-for': 'off', 'form-dup-name': 'off', 'no-autoplay': 'off',
    'tel-non-breaking': 'off', 'valid-autocomplete': 'error', 'doctype-style': 'off', 'no-implicit-input-type': 'off',
  },
});

const routes = await readRoutes();

test('in the dark nothing but colours differs', async () => {
  const css = await readFile(new URL('../../static/sandbucket.css', import.meta.url), 'utf8');
  const blocks = [...css.matchAll(/@media[^{]*prefers-color-scheme[^{]*\{([^{}]*)\{([^{}]*)\}\s*\}/g)];
  assert.equal(blocks.length, css.split('prefers-color-scheme').length - 1, 'each block was read');
  for (const [, selector, body] of blocks) {
    assert.equal(selector.trim(), ':root');
    for (const each of body.split(';')) assert.match(each.trim(), /^--[a-z-]+:#[0-9a-f]{3,6}$/);
  }
});

/** Lists as spreadsheets: files, which a browser keeps and does not show. */
function sheets() {
  return ['/connectors.csv', '/designs.csv', '/kit.csv', '/loans.csv', '/log.csv', '/packs.csv', '/packs/{number}/readings.csv', '/packs/{number}/charges.csv',
    '/people.csv', '/places.csv', '/season.csv', '/season/events.csv', '/calendar/{token}'];
}

async function readRoutes() {
  const text = await readFile(new URL('../../src/web/routes.rs', import.meta.url), 'utf8');
  const paths = [...text.matchAll(/\bget\(\s*"([^"]+)"/g)].map((found) => found[1]);
  assert.ok(paths.length > 40, 'the table of routes was read');
  return paths.map((path) => ({ path, pattern: new RegExp(`^${path.replace(/\{[^}]+\}/g, '[^/]+')}$`) }));
}

/** The most particular route: `/packs/new` before `/packs/{number}`. */
function routeOf(pathname) {
  const fitting = routes.filter((route) => route.pattern.test(pathname));
  fitting.sort((a, b) => a.path.split('{').length - b.path.split('{').length);
  return fitting[0]?.path;
}

/** Collects what is wrong, so that one run tells of all pages, and which routes were met. */
class Walk {
  constructor() {
    this.met = new Map();
    this.wrong = [];
    this.looked = 0;
    this.refused = new Set();
  }

  /** Each role sees a page in its own way; the first one met sees several of a route, the others one. */
  isNew(address, who = '') {
    const { pathname } = new URL(address, 'http://hall');
    const route = routeOf(pathname);
    if (!route || NO_PAGES.includes(route)) return false;
    const byRole = this.met.get(route) ?? new Map();
    const isFirst = byRole.size === 0 || [...byRole.keys()][0] === who;
    const met = byRole.get(who) ?? new Set();
    const enough = isFirst ? (route === '/packs/{number}' ? OF_PACKS : OF_A_ROUTE) : 1;
    if (met.has(address) || met.size >= enough) return false;
    this.met.set(route, byRole.set(who, met.add(address)));
    return true;
  }

  /** Whether nobody met its route before: that role looks at several of it. */
  isFirst(address, who) {
    const byRole = this.met.get(routeOf(new URL(address, 'http://hall').pathname));
    return [...byRole.keys()][0] === who;
  }

  /** `isFirst`: nobody met its like before. What another role sees of a route differs by some lines: axe looks at one width, in turn, and in the
   * light. */
  async look(visit, name, isFirst = true) {
    const axeWidths = isFirst || process.env.SANDBUCKET_LONG ? AXE_WIDTHS : [AXE_WIDTHS[this.looked % AXE_WIDTHS.length]];
    const complain = (error) => this.wrong.push(`${name}: ${error.message}`);
    await visit.page.emulateMedia({ colorScheme: 'light', reducedMotion: 'reduce' });
    for (const width of WIDTHS) {
      await visit.page.setViewportSize({ width, height: 844 });
      if (axeWidths.includes(width)) await visit.axe().catch(complain);
      await visit.noSidewaysScroll().catch(complain);
    }
    // In the dark a page differs by its colours alone.
    await visit.page.emulateMedia({ colorScheme: 'dark', reducedMotion: 'reduce' });
    const inTheDark = isFirst ? [WIDTHS[this.looked % WIDTHS.length]] : [];
    for (const width of process.env.SANDBUCKET_LONG ? WIDTHS : inTheDark) {
      await visit.page.setViewportSize({ width, height: 844 });
      await visit.axe('color-contrast').catch(complain);
    }
    await visit.page.setViewportSize({ width: 390, height: 844 });
    this.looked += 1;
  }

  async read(visit, address) {
    const answer = await visit.go(address);
    await this.validate(await answer.text(), address);
    return answer;
  }

  async validate(html, address) {
    const report = await validator.validateString(html);
    for (const { message, ruleId, line } of report.results.flatMap((result) => result.messages)) {
      this.wrong.push(`${address} is not valid HTML in line ${line}: ${message} (${ruleId})`);
    }
  }

  /** From page to page, by the links of each. */
  async follow(visit, who, ...from) {
    const queue = [...from];
    const pages = [];
    while (queue.length > 0) {
      const address = queue.shift();
      if (!this.isNew(address, who)) continue;
      const answer = await this.read(visit, address);
      if (answer.status() >= 400) this.wrong.push(`${who} is led to ${address}, which answers ${answer.status()}`);
      await this.look(visit, `${who} at ${address}`, this.isFirst(address, who));
      pages.push(address);
      const links = await visit.page.locator('a[href]').evaluateAll((all) => all.map((link) => link.getAttribute('href')));
      queue.push(...links.filter((link) => link.startsWith('/')).map((link) => link.split('#')[0]));
    }
    return pages;
  }

  /** Each form of the page, sent with every field emptied; a refusal must be one, and look well. */
  async sendEmpty(visit, who, address) {
    await visit.go(address);
    const actions = await visit.page.locator('form[method=post]').evaluateAll((forms) =>
      forms
        .filter((form) => form.querySelector('input:not([type=hidden]), textarea, select'))
        .map((form) => form.getAttribute('action')));
    for (const action of new Set(actions)) {
      if (ENDS.test(action)) continue;
      await visit.go(address);
      const form = visit.page.locator(`form[method=post][action="${action}"]`).first();
      await form.evaluate((element) => {
        for (const field of element.querySelectorAll('input:not([type=hidden]), textarea, select')) {
          if (field.matches('[type=checkbox], [type=radio]')) field.checked = false;
          else field.value = '';
        }
      });
      const [answer] = await Promise.all([
        visit.page.waitForNavigation(),
        form.evaluate((element) => (element.querySelector('button.main') ?? element.querySelector('button')).click()),
      ]);
      assert.ok(answer.status() < 500, `${action} sent empty answered ${answer.status()}`);
      if (answer.status() !== 422) continue;
      await this.validate(await answer.text(), `${action} refused`);
      const isFirst = !this.refused.has(routeOf(new URL(action, 'http://hall').pathname) ?? action);
      this.refused.add(routeOf(new URL(action, 'http://hall').pathname) ?? action);
      await this.look(visit, `${who} at ${action}, refused`, isFirst);
    }
  }

  tell() {
    console.log(`# ${this.looked} pages looked at, by axe at ${AXE_WIDTHS.join(' and ')} px`);
    assert.deepEqual([...new Set(this.wrong)], []);
  }
}

test('every page of a club in full swing, for each role', { timeout: 1_200_000 }, async () => {
  const hall = await startHall({ demo: true });
  const walk = new Walk();
  try {
    const passwords = demoPasswords(hall);
    assert.deepEqual(Object.keys(passwords).sort(), ['mo', 'orla', 'quinn']);
    const stranger = await hall.open(390);
    await walk.follow(stranger, 'a stranger', '/sign-in');
    await stranger.close();
    const roles = [];
    for (const name of ['quinn', 'orla', 'mo']) {
      const visit = await hall.open(390);
      await signIn(visit, name, passwords[name]);
      roles.push({ visit, name, pages: await walk.follow(visit, name, new URL(visit.page.url()).pathname, '/style') });
    }
    await byLinks(hall, walk, roles[0].visit);
    await labels(hall, walk, roles[0].visit);
    await takeBack(walk, roles[0].visit);
    await readMany(walk, roles[0].visit);
    await kitGone(walk, roles[0].visit);
    await packReadBack(walk, roles[0].visit);
    await lostReadBack(walk, roles[0].visit);
    await broughtBack(walk, roles[2].visit);
    await bringIn(walk, roles[0].visit);
    await chargeLog(walk, roles[0].visit);
    for (const { visit, name, pages } of roles.toReversed()) {
      for (const address of pages) await walk.sendEmpty(visit, name, address);
    }
    await tablet(walk, roles[0].visit);
    for (const { visit } of roles) await visit.close();
    const left = routes.map(({ path }) => path).filter((path) => !NO_PAGES.includes(path) && !walk.met.has(path));
    assert.deepEqual(left.sort(), MET_ELSEWHERE, 'every route was met');
    walk.tell();
  } finally {
    await hall.end();
  }
});

/** Met by the errand, or in the test of the empty club. */
const MET_ELSEWHERE = ['/packs/registered', '/start', '/take-back/done', '/take-back/volts'];

/** The pages behind links with secrets: joining, a new password; and the shared tablet. */
async function byLinks(hall, walk, quinn) {
  const { page } = quinn;
  for (const [role, from] of [['Member', '/people/invite']]) {
    await quinn.go(from);
    await page.getByLabel(/name/i).first().fill('Nell Sallow');
    await page.getByLabel(role).first().check();
    await page.locator('button.main').click();
    await walk.look(quinn, 'a link, shown once');
    const link = new URL((await page.locator('main code').innerText()).trim());
    await asStranger(hall, walk, link.pathname, true);
  }
  await quinn.go('/people?q=Nell');
  await page.getByRole('link', { name: 'Nell Sallow' }).click();
  await page.locator('form[action$="/link"] button').click();
  const link = new URL((await page.locator('main code').innerText()).trim());
  await asStranger(hall, walk, link.pathname, false);
}

async function asStranger(hall, walk, address, isJoin) {
  const stranger = await hall.open(390);
  walk.isNew(address);
  await walk.read(stranger, address);
  await walk.look(stranger, isJoin ? 'joining' : 'a new password');
  if (isJoin) {
    await walk.sendEmpty(stranger, 'a newcomer', address);
    await stranger.go(address);
    await stranger.page.getByLabel('Sign-in', { exact: true }).fill('nell');
  }
  await stranger.page.locator('input[type=password]').first().fill('four brass weights hang');
  const again = stranger.page.locator('input[type=password]').nth(1);
  if (await again.count()) await again.fill('four brass weights hang');
  await stranger.page.locator('main button.main').click();
  walk.isNew(new URL(stranger.page.url()).pathname);
  await walk.look(stranger, isJoin ? 'joined' : 'the new password is set');
  await stranger.go(address);
  await walk.look(stranger, 'a link that was used');
  await stranger.close();
}

/** A sheet of labels is ready; what a scan shows a stranger, and of a label that leads nowhere; a list that grows by scanning. */
async function labels(hall, walk, quinn) {
  const { page } = quinn;
  await quinn.go('/labels');
  await page.getByLabel('Packs', { exact: true }).fill('1-3');
  await page.getByLabel('A4, 21 labels').check();
  const bases = page.locator('[name=base]');
  if (await bases.count()) await bases.first().check();
  await page.locator('button.main').click();
  walk.isNew(new URL(page.url()).pathname);
  await walk.look(quinn, 'labels are ready');
  for (const ask of ['', '?ask=reissue', '?ask=revoke']) {
    await walk.read(quinn, `/packs/P-001/label${ask}`);
    await walk.look(quinn, `a label ${ask}`);
  }
  await quinn.go('/packs/P-001/label');
  const scanned = await page.getByRole('link', { name: 'What a scan of it shows' }).getAttribute('href');
  walk.isNew(scanned, 'a stranger');
  for (const address of [scanned, '/t/nothing']) {
    const stranger = await hall.open(390);
    await walk.read(stranger, address);
    await walk.look(stranger, `a stranger at ${address}`);
    await stranger.close();
  }
  await quinn.go('/hand-out');
  await page.getByLabel('To whom').selectOption({ index: 1 });
  await page.getByLabel('What', { exact: true }).fill('1 2 A-01x2');
  await page.getByRole('button', { name: 'Gather by scanning' }).click();
  walk.isNew('/gather');
  await walk.look(quinn, 'a list that grows by scanning');
  await walk.sendEmpty(quinn, 'quinn', '/gather');
  await walk.read(quinn, scanned);
  await walk.look(quinn, 'scanned for a list');
  await quinn.go('/gather');
  await page.getByRole('button', { name: 'Forget this list' }).click();
}

/** What Mo has comes back: what is asked first, and that question unanswered. The steps after it are walked by the errand. */
async function takeBack(walk, quinn) {
  const { page } = quinn;
  await quinn.go('/take-back');
  await page.locator('ul.do a').first().click();
  walk.isNew(new URL(page.url()).pathname);
  await walk.look(quinn, 'what do you see?');
  await walk.sendEmpty(quinn, 'quinn', page.url());
}

/** Volts of two packs in one form: one that can't be read comes back, then both are told of. */
async function readMany(walk, quinn) {
  const { page } = quinn;
  await quinn.go('/readings/many');
  await page.getByText('Rested an hour or more').click();
  const lines = page.locator('fieldset[data-cells="3"] [name^=volts_line]');
  await lines.nth(0).fill('3.82 3.81 3.82');
  await lines.nth(1).fill('3.8x 3.81 3.82');
  await page.locator('main button.main').click();
  await walk.look(quinn, 'one row of many to put right');
  await page.locator('[aria-invalid=true]').fill('3.82 3.81 3.82');
  await page.locator('main button.main').click();
  walk.isNew(new URL(page.url()).pathname);
  await walk.look(quinn, 'volts of many packs, logged');
}

/** Mo brings something back alone, and is told what came of it. */
async function broughtBack(walk, mo) {
  await mo.go('/mine');
  await mo.page.locator('ul.do a[href$="/bring-back"]').first().click();
  await mo.page.getByText('Nothing to see', { exact: true }).click();
  await mo.page.locator('main button.main').click();
  walk.isNew(new URL(mo.page.url()).pathname);
  await walk.look(mo, 'brought back alone');
}

/** A spreadsheet pasted, with a day that could be two and a number that is on record: each step, a sheet that is wrong, and the end. */
async function bringIn(walk, quinn) {
  const { page } = quinn;
  const number = 'P-001';
  const lines = ['Number,Design,Chemistry,Cells,Capacity,Connector,Balance,Bought', `${number},,,,,,,03/04/2026`,
    ',Walked 3S,LiPo,3S,450 mAh,XT30,JST-XH,03/04/2026'];
  const met = async (what) => {
    walk.isNew(new URL(page.url()).pathname, 'quinn');
    await walk.validate(await page.content(), what);
    await walk.look(quinn, what);
  };
  const send = async (text) => {
    await quinn.go('/bring-in');
    await page.getByLabel('Packs', { exact: true }).check();
    await page.getByLabel('Or the sheet’s text, pasted').or(page.locator('#f-text')).first().fill(text);
    await page.locator('main button.main').click();
  };
  await send('Design\n"never closed');
  await met('a sheet that can not be split');
  await send(lines.join('\n'));
  await met('the columns of a sheet');
  await walk.sendEmpty(quinn, 'quinn', page.url());
  await send(lines.join('\n'));
  await page.locator('main button.main').first().click();
  await met('what a sheet leaves open');
  await walk.sendEmpty(quinn, 'quinn', page.url());
  await page.locator('input[value=day_first]').check();
  await page.locator('input[value=leave]').check();
  await page.locator('main button.main').click();
  await met('a sheet, read back');
  await page.locator('main button.main').click();
  await met('a sheet, brought in');
  await send('Design,Place\nNone of ours,The moon');
  await page.locator('main button.main').first().click();
  await met('a sheet with what to put right');
}

/** A charger's log of a 3S pack, its columns asked for: read back, stored, its figures unfolded, and asked to be removed. */
async function chargeLog(walk, quinn) {
  const { page } = quinn;
  const met = async (what) => {
    walk.isNew(new URL(page.url()).pathname, 'quinn');
    await walk.validate(await page.content(), what);
    await walk.look(quinn, what);
  };
  const volts = (minute) => (minute < 50 ? 11.3 + minute * 0.026 : 12.6);
  const amps = (minute) => (minute < 50 ? 2.2 : 2.2 * Math.exp((50 - minute) / 9));
  const rows = Array.from({ length: 90 }, (_, minute) => `${minute},${volts(minute).toFixed(3)},${amps(minute).toFixed(3)}`);
  await quinn.go('/packs/P-007/charge-logs/new');
  await page.locator('main button.main').click();
  await met('a charge log, and no file chosen');
  const file = { name: 'bench.csv', mimeType: 'text/csv', buffer: Buffer.from(`t,u,i\n${rows.join('\n')}\n`) };
  await page.locator('#f-log').setInputFiles(file);
  await page.locator('main button.main').click();
  await met('the columns of a charge log');
  await walk.sendEmpty(quinn, 'quinn', page.url());
  await page.locator('#f-column_0').selectOption('test_time_second min');
  await page.locator('#f-column_1').selectOption('voltage_volt V');
  await page.locator('#f-column_2').selectOption('current_ampere A');
  await page.getByRole('button', { name: 'Read it like this' }).click();
  await met('a charge log, read back');
  // Far more went in than that pack holds: it is asked about, and stored once somebody says that it is so.
  await page.getByRole('button', { name: 'Store this log of P-007' }).click();
  await met('a charge log that may be another pack’s');
  await page.getByLabel('Yes, it is the log of this pack').check();
  await page.getByRole('button', { name: 'Store this log of P-007' }).click();
  await page.locator('details.figures summary').click();
  await met('a charge log');
  await quinn.go(`${new URL(page.url()).pathname}?remove=yes`);
  await walk.look(quinn, 'a charge log to be removed');
  for (const address of ['/packs/P-007/charge-logs', '/packs/P-007/over-time']) {
    await quinn.go(address);
    await met(address);
  }
}

/** Something on a loan that is lost: read back before it is stored. */
async function lostReadBack(walk, quinn) {
  const { page } = quinn;
  await quinn.go('/loans');
  await quinn.go(await page.locator('main a[href^="/loans/"]').first().getAttribute('href'));
  await quinn.go(await page.locator('main a[href$="/change"]').first().getAttribute('href'));
  await page.getByLabel('How it was lost').fill('fell into the mill race');
  await page.getByRole('button', { name: 'Read it back' }).click();
  walk.isNew(new URL(page.url()).pathname);
  await walk.look(quinn, 'lost, read back');
}

/** A pack is retired: read back first. */
async function packReadBack(walk, quinn) {
  await quinn.go('/packs/P-020/way-out');
  await quinn.page.getByLabel('Retired').check();
  await quinn.page.getByLabel('Why').fill('Its sisters are gone.');
  await quinn.page.locator('main button.main').click();
  await walk.look(quinn, 'a way out of a pack, read back');
}

/** A board is given away: read back, done, and told. */
async function kitGone(walk, quinn) {
  const { page } = quinn;
  await quinn.go('/kit?kind=board');
  await page.getByRole('link', { name: 'B-01' }).first().click();
  await quinn.go(`${new URL(page.url()).pathname}/way-out`);
  await page.getByLabel('Given away').check();
  await page.getByLabel('Why, or how?').fill('To the school next door.');
  await page.locator('main button.main').click();
  await walk.look(quinn, 'a way out of kit, read back');
  await page.locator('main button.main').click();
  walk.isNew(new URL(page.url()).pathname);
  await walk.look(quinn, 'kit that is gone');
}

/** The table's tablet, and who stands at it. */
async function tablet(walk, quinn) {
  await quinn.go('/tablets');
  await quinn.page.locator('form[action="/tablets"] input:not([type=hidden])').first().fill('Table by the door');
  await quinn.page.locator('form[action="/tablets"] button').click();
  walk.isNew('/table');
  await walk.read(quinn, '/table');
  await walk.look(quinn, 'the shared tablet');
  await walk.sendEmpty(quinn, 'whoever stands at the tablet', '/table');
}

test('every page of a club where nothing happened yet', { timeout: 600_000 }, async () => {
  const hall = await startHall();
  const walk = new Walk();
  try {
    const visit = await hall.open(390);
    walk.isNew('/start');
    await walk.read(visit, '/start');
    await walk.look(visit, 'the first page');
    await walk.sendEmpty(visit, 'a newcomer', '/start');
    await visit.go('/start');
    const fill = (label, text) => visit.page.getByLabel(label, { exact: true }).fill(text);
    await fill('Set-up code', hall.setUpCode);
    await visit.page.getByLabel('Our own club, empty').check();
    await fill('Name of the club', 'Millrace Robotics Club');
    await fill('Time zone', 'Europe/London');
    await fill('Your name', 'Quinn Marlow');
    await fill('Sign-in', 'quinn');
    await fill('Password', 'tidal moss bees nine');
    await visit.page.getByRole('button', { name: 'Start' }).click();
    await walk.follow(visit, 'quinn', '/packs');
    await visit.close();
    walk.tell();
  } finally {
    await hall.end();
  }
});
