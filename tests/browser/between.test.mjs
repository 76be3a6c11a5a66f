// What stands between a phone and the club: a network that hangs, a proxy that answers in the club's place, a newer version that
// starts meanwhile. No report is lost to any of them, and the page tells the truth. At 390 px.
import assert from 'node:assert/strict';
import { after, afterEach, before, beforeEach, test } from 'node:test';
import { hallWithPhone, hasPhoto, isReady, photo, poster, told, until } from './phone.mjs';

/** More than `PATIENCE_MS` of the page. */
const LONG_MS = 8_100;

let hall;
let page;
let at;

before(async () => { hall = await hallWithPhone(); });
after(() => hall.end());
beforeEach(async (one) => {
  const { network, phone, quinn } = hall;
  network.address = `198.51.100.${1 + (hall.rounds = (hall.rounds ?? 0) + 1)}`;
  at = await poster(quinn, one.name.slice(0, 30));
  page = await phone.start();
});
afterEach(async () => {
  const { network, phone } = hall;
  network.instead = () => null;
  network.rewrite = null;
  network.release();
  await phone.context.close();
});

async function fill(words) {
  await page.getByLabel('A socket or cable').check();
  await page.getByLabel('In your own words').fill(words);
}

const press = () => page.getByRole('button', { name: 'Send the report' }).first().click();
const isSent = (words) => until(`${words} has come`, async () => (await told(hall.quinn, words)).length === 1);
const notSent = () => page.getByText('Not sent: tell a person now.').waitFor();

test('while one report hangs on its way the next is told, and what is typed stays', { timeout: 120_000 }, async () => {
  const { network } = hall;
  await page.clock.install();
  await page.goto(`${at}?now=no`);
  network.is = 'hanging';
  for (const [words, count] of [['a first hot socket', '1 report waits'], ['a second hot socket', '2 reports wait']]) {
    const sent = network.hanging.length + 1;
    await fill(words);
    await press();
    await until(`${words} is on its way`, () => network.hanging.length === sent);
    await page.clock.fastForward(LONG_MS);
    await page.getByText(count).waitFor();
    assert.equal(await page.getByLabel('In your own words').inputValue(), '', 'it is kept');
  }
  await fill('a third that is being typed');
  network.release();
  await page.getByText('A report that waited is sent.').first().waitFor();
  for (const words of ['a first hot socket', 'a second hot socket']) await isSent(words);
  await until('nothing waits any more', async () => (await page.getByText('Not sent: tell a person now.').count()) === 0);
  assert.equal(await page.getByLabel('In your own words').inputValue(), 'a third that is being typed');
  await hall.phone.visit.axe();
  // What is typed while one is sent stays too, and an untouched form gives way to the page of its report.
  network.is = 'hanging';
  await press();
  await until('the third is on its way', () => network.hanging.length === 1);
  await page.getByLabel('In your own words').fill('a fourth');
  network.release();
  await isSent('a third that is being typed');
  await page.getByText('A report that waited is sent.').nth(2).waitFor();
  assert.equal(await page.getByLabel('In your own words').inputValue(), 'a fourth');
  network.is = 'hanging';
  await press();
  await until('the fourth is on its way', () => network.hanging.length === 1);
  await page.clock.fastForward(LONG_MS);
  await notSent();
  network.release();
  await page.waitForURL(/\/reported\//);
  await isSent('a fourth');
});

test("what a proxy refuses in the club's place waits and comes once the club answers", { timeout: 120_000 }, async () => {
  const { network } = hall;
  await page.goto(`${at}?now=no`);
  for (const status of [403, 404]) {
    const words = `a socket that met ${status}`;
    network.instead = (from) => (from.method === 'POST' ? status : null);
    await fill(words);
    await press();
    await notSent();
    await page.goto(`${at}?now=no`);
    await notSent();
    await new Promise((later) => setTimeout(later, 300));
    assert.equal(await page.getByText("The club's server can't take it").count(), 0);
    assert.deepEqual(await told(hall.quinn, words), []);
    network.instead = () => null;
    await page.goto(`${at}?now=no`);
    await page.getByText('A report that waited is sent.').waitFor();
    await isSent(words);
  }
});

test('a photo that a proxy does not let through is told of on its report and where it was sent', { timeout: 120_000 }, async () => {
  const { network, phone, quinn } = hall;
  const large = { ...photo, buffer: Buffer.concat([photo.buffer, Buffer.alloc(200_000)]) };
  network.instead = (from) => (Number(from.headers['content-length']) > 100_000 ? 413 : null);
  const refused = 'That photo was refused on its way here.';
  await page.goto(`${at}?now=no`);
  await fill('a photo at once');
  await page.getByLabel('Photo (optional)').setInputFiles(large);
  await press();
  await page.waitForURL(/\/reported\//);
  await page.getByText(refused).waitFor();
  await page.goto(`${at}?now=no`);
  await phone.cut();
  await fill('a photo that waited');
  await page.getByLabel('Photo (optional)').setInputFiles(large);
  await press();
  await notSent();
  await phone.mend();
  await page.getByText('Its photo did not come through').waitFor();
  await phone.visit.axe();
  assert.equal(await page.getByText('photo waits').count(), 0);
  for (const words of ['a photo at once', 'a photo that waited']) {
    const [report] = await told(quinn, words);
    assert.ok((await quinn.read(report)).includes(refused), words);
    assert.equal(await hasPhoto(quinn, report), false);
  }
});

test('an answer to the question of a crash alone is a report without network too', { timeout: 120_000 }, async () => {
  const { phone } = hall;
  await page.goto(`${at}?now=no`);
  await phone.cut();
  await page.getByLabel('A socket or cable').check();
  await page.getByText('Was in a crash').click();
  await page.getByText('Yes, the pack was hit or bent').click();
  await page.getByText('Was in a crash').click();
  await press();
  await notSent();
  await phone.mend();
  await page.getByText('A report that waited is sent.').waitFor();
  await isSent('Was in a crash');
});

test("a newer version's page is not kept by the worker of the one before", { timeout: 120_000 }, async () => {
  const { network, phone } = hall;
  await page.goto(at);
  await isReady(page);
  let asked = 0;
  network.rewrite = (html) => {
    asked += 1;
    return html.replaceAll(/\/static\/[0-9a-f]+\//g, '/static/0123456789ab/');
  };
  await page.goto(`${at}?now=no`);
  await until('the page is asked for anew', () => asked > 0);
  await new Promise((later) => setTimeout(later, 500));
  await phone.cut();
  await page.goto(at);
  await page.getByText('get everybody away and call').first().waitFor();
  const rules = await page.evaluate(() => [...document.styleSheets].map((sheet) => sheet.cssRules.length));
  assert.ok(rules.length === 1 && rules[0] > 0, 'it is drawn as it was kept');
  await page.getByLabel('In your own words').fill('kept by the one before');
  await page.getByLabel('A socket or cable').check();
  await press();
  await notSent();
});
