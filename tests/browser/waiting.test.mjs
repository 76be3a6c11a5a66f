// A report made where there is no network: it waits on the phone, outlives the browser, arrives once with its photo, and the page tells
// the truth meanwhile. At 390 px. The rounds are ten in every run and a thousand where SANDBUCKET_LONG is set.
import assert from 'node:assert/strict';
import { randomInt } from 'node:crypto';
import { appendFileSync } from 'node:fs';
import { test } from 'node:test';
import { demoPasswords, signIn, startHall } from './support.mjs';
import { desk, hallWithPhone, hasPhoto, isReady, measuresOf, photo, photoOfPhone, poster, told, until } from './phone.mjs';

const ROUNDS = process.env.SANDBUCKET_LONG ? 1000 : 10;
/** Each with a hall and a phone of its own: most of a round is waiting. */
const LANES = process.env.SANDBUCKET_LONG ? 4 : 1;

/** Where a label leads, of each pack of the demo club that has one. */
async function labels(quinn, atMost) {
  const found = [];
  for (let number = 1; number <= 30 && found.length < atMost; number += 1) {
    const page = await quinn.read(`/packs/P-${String(number).padStart(3, '0')}/label`);
    const code = page.match(/href="(\/t\/[0-9a-z]+)"/)?.[1];
    if (code) found.push(code);
  }
  return found;
}

test('without network the page of a label is what to do now and a report, which waits, outlives the browser and arrives once', { timeout: 180_000 }, async () => {
  const hall = await hallWithPhone();
  const { phone, quinn } = hall;
  try {
    const [label] = await labels(quinn, 1);
    let page = await phone.start();
    await page.goto(label);
    await isReady(page);
    await phone.cut();
    // Counted from the scan: report it, what is seen, send.
    await page.goto(`${label}?scanned`);
    const shown = await page.locator('body').innerText();
    assert.match(shown, /get everybody away and call/);
    assert.match(shown, /Local rules and the fire service come first/);
    assert.doesNotMatch(shown, /P-00|LiPo|Fit\b|Charge it/, 'no state and no plan');
    const first = await page.locator('main').evaluate((main) => main.innerText.indexOf('call the fire service') < main.innerText.indexOf('Report it'));
    assert.ok(first, 'what to do stands before the form');
    await phone.visit.axe();
    await phone.visit.noSidewaysScroll();
    await phone.visit.shot('report-offline');
    await page.getByRole('link', { name: /Nothing of that/ }).tap();
    await page.getByText('Swollen or puffed').tap();
    await page.getByLabel('In your own words').fill('it lies by the door');
    await page.getByLabel('Photo (optional)').setInputFiles(photo);
    await page.getByRole('button', { name: 'Send the report' }).first().tap();
    await page.getByText('Not sent: tell a person now.').waitFor();
    assert.match(await page.locator('#waiting').innerText(), /1 report waits/);
    assert.equal(await page.evaluate(() => document.activeElement.id), 'waiting', 'the focus is where it says so');
    await page.getByRole('button', { name: 'Send the report' }).first().tap();
    await page.waitForTimeout(300);
    assert.equal(await page.locator('#sending').innerText(), 'It is kept on this phone and not sent yet. Tell a person now.', 'pressed once more');
    assert.match(await page.locator('#waiting').innerText(), /1 report waits/);
    const copied = await page.getByLabel('The report as text').inputValue();
    assert.match(copied, /Swollen or puffed\nIn your own words: it lies by the door/);
    await phone.visit.axe();
    await phone.visit.noSidewaysScroll();
    await phone.visit.bigTargets('#waiting button');
    await phone.visit.shot('report-waits');

    await phone.kill();
    page = await phone.start({ offline: true });
    await page.goto(label);
    await page.getByText('Not sent: tell a person now.').waitFor();
    assert.deepEqual(await told(quinn, 'it lies by the door'), [], 'nothing of it came yet');
    await new Promise((later) => setTimeout(later, 1_500));
    await phone.mend();
    await page.getByText('A report that waited is sent.').waitFor();
    assert.equal(await page.getByText('Not sent: tell a person now.').count(), 0);
    await phone.visit.axe();
    const [report, ...more] = await told(quinn, 'it lies by the door');
    assert.deepEqual(more, [], 'it exists once');
    assert.ok(await hasPhoto(quinn, report), 'with its photo');
    await page.getByRole('link', { name: 'See whether it was read' }).tap();
    await page.getByText('Nobody has read it yet').waitFor();
    await phone.visit.axe();
    const kept = await page.evaluate(async () => {
      const names = await caches.keys();
      const all = await Promise.all(names.map(async (name) => (await (await caches.open(name)).keys()).map((one) => new URL(one.url).pathname)));
      return all.flat();
    });
    assert.deepEqual(kept.filter((path) => !path.startsWith('/static/')), ['/offline'], 'no other page is kept');
    // A network that is away is told by the browser; nothing else is wrong.
    assert.deepEqual(phone.visit.complaints.filter((one) => !one.includes('ERR_INTERNET_DISCONNECTED')), []);
  } finally {
    await hall.end();
  }
});

test("a member's report that waits brings the volts that were typed and the whole photo of a phone", { timeout: 120_000 }, async () => {
  const hall = await hallWithPhone();
  const { phone, quinn, passwords } = hall;
  try {
    const page = await phone.start();
    await signIn(phone.visit, 'mo', passwords.mo);
    const cells = Number((await quinn.read('/packs/P-001')).match(/\b([1-6])S\b/)[1]);
    const volts = Array(cells).fill('3.82').join(' ');
    await page.goto('/packs/P-001/condition?now=no');
    await isReady(page);
    await page.getByText('Outer wrap torn').tap();
    await page.getByLabel('In your own words').fill('torn at one end');
    await page.getByText('Its volts, if you measured them (optional)').tap();
    await page.getByLabel('Volts of each cell (optional)').fill(volts);
    await page.locator('[name=rested][value=rested_an_hour]').check();
    const { name, mimeType, buffer, width, height } = await photoOfPhone(page);
    await page.getByLabel('Photo (optional)').setInputFiles({ name, mimeType, buffer });
    await phone.cut();
    await page.getByRole('button', { name: 'Send the report' }).first().tap();
    await page.getByText('Not sent: tell a person now.').waitFor();
    assert.match(await page.getByLabel('The report as text').inputValue(), new RegExp(`Volts of each cell: ${volts}`));
    assert.deepEqual(await told(quinn, 'torn at one end'), [], 'nothing of it came yet');
    await phone.mend();
    await until('it has come', async () => (await told(quinn, 'torn at one end')).length > 0);
    const [report, ...more] = await told(quinn, 'torn at one end');
    assert.deepEqual(more, [], 'it exists once');
    await until('its photo', () => hasPhoto(quinn, report));
    assert.deepEqual(measuresOf(await quinn.bytes(`${report}/photo`)), { width, height }, 'the whole photo came');
    const shown = await quinn.read(report);
    assert.ok(shown.includes(`Volts: ${volts}`), `and the volts: ${shown.slice(shown.indexOf('<main'))}`);
  } finally {
    await hall.end();
  }
});

/** One way in which a network fails and a phone dies; what was told to be kept arrives once, with its photo. */
async function round(hall, words, ways) {
  const { network, phone, quinn, passwords } = hall;
  network.is = 'there';
  network.address = `198.51.${randomInt(256)}.${randomInt(256)}`;
  const dice = { opened: randomInt(2), net: randomInt(2), kill: randomInt(3), photo: randomInt(3), reads: randomInt(2) };
  let page = await phone.start();
  const isMember = randomInt(3) === 0;
  await phone.context.clearCookies();
  if (isMember && hall.signedIn) {
    await phone.context.addCookies(hall.signedIn);
  } else if (isMember) {
    // Once: who signs in again and again is kept waiting.
    await signIn(phone.visit, 'mo', passwords.mo);
    hall.signedIn = await phone.context.cookies();
  }
  const number = String(1 + randomInt(20)).padStart(3, '0');
  const at = isMember ? `/packs/P-${number}/condition` : await poster(quinn, words);
  await page.goto(`${at}?now=no`);
  await isReady(page);
  if (dice.opened === 1) {
    await phone.cut();
    await page.goto(`${at}?now=no`);
  }
  const thing = page.getByLabel('A socket or cable');
  if (await thing.count()) await thing.check();
  await page.getByLabel('In your own words').fill(words);
  const sent = dice.photo === 2 ? await photoOfPhone(page) : { ...photo, width: 1, height: 1 };
  const { name, mimeType, buffer, width, height } = sent;
  if (dice.photo > 0) await page.getByLabel('Photo (optional)').setInputFiles({ name, mimeType, buffer });
  // Cut off before it is sent, or the answer is lost on its way back.
  if (dice.net === 0) await phone.cut();
  else network.is = 'deaf';
  await page.getByRole('button', { name: 'Send the report' }).first().click();
  await page.getByText('Not sent: tell a person now.').waitFor();
  if (dice.kill > 0) await phone.kill();
  if (dice.kill === 2) {
    network.is = 'deaf';
    page = await phone.start();
    await page.goto(dice.reads ? '/contact' : at).catch(() => {});
    await new Promise((later) => setTimeout(later, randomInt(600)));
    await phone.kill();
  }
  network.is = 'there';
  if (dice.kill > 0) page = await phone.start();
  else await phone.mend();
  await page.goto(dice.reads ? '/contact' : at);
  await until(`${words} has come: ${JSON.stringify(dice)}`, async () => (await told(quinn, words)).length > 0);
  const [report] = await told(quinn, words);
  if (dice.photo > 0) await until(`the photo of ${words}`, () => hasPhoto(quinn, report));
  await until('nothing waits any more', () => page.evaluate(() => import(document.querySelector('script[src*=waiting]').src).then((it) => it.tell()).then((all) => all.length === 0)));
  assert.equal((await told(quinn, words)).length, 1, `${words} exists once: ${JSON.stringify(dice)}`);
  assert.equal(await hasPhoto(quinn, report), dice.photo > 0);
  if (dice.photo > 0) assert.deepEqual(measuresOf(await quinn.bytes(`${report}/photo`)), { width, height }, 'the whole photo came');
  await quinn.send(report, { what: 'read' });
  ways.add(JSON.stringify(dice));
  await phone.context.close();
}

test('in random rounds of cut networks, lost answers and killed browsers each report arrives once with its photo', { timeout: ROUNDS * 60_000 }, async () => {
  const begun = Date.now();
  const ways = new Set();
  let [next, done] = [0, 0];
  const lane = async () => {
    const hall = await hallWithPhone();
    try {
      while (next < ROUNDS) {
        next += 1;
        await round(hall, `round ${next} of ${begun}`, ways);
        done += 1;
      }
    } catch (failed) {
      next = ROUNDS;
      throw failed;
    } finally {
      await hall.end();
    }
  };
  const lanes = await Promise.allSettled(Array.from({ length: LANES }, lane));
  const line = `reports that wait on a phone: ${done} rounds, ${ways.size} ways, ${Math.round((Date.now() - begun) / 1000)} s\n`;
  console.log(`# ${line}`);
  if (process.env.SANDBUCKET_PROOF_LOG) appendFileSync(process.env.SANDBUCKET_PROOF_LOG, line);
  for (const one of lanes) if (one.status === 'rejected') throw one.reason;
  assert.equal(done, ROUNDS);
});

for (const javaScript of [true, false]) {
  test(`from the scan at most four taps to a sent report (${javaScript ? 'with' : 'without'} JavaScript)`, { timeout: 120_000 }, async () => {
    const hall = await startHall({ demo: true });
    try {
      const quinn = await desk(hall.base, 'quinn', demoPasswords(hall).quinn);
      const codes = await labels(quinn, 3);
      const wall = await poster(quinn, 'Door');
      const [now, sure, smoke] = ['Smoke, heat, hissing or fire now', 'Yes, or I am not sure', 'Smoke, hissing, sparks or fire'];
      const ways = [
        [codes[0], ['Nothing of that, but', 'Swollen or puffed']],
        [codes[1], [now, smoke]],
        [wall, [sure, smoke, 'A socket or cable']],
        [codes[2], ['Something is wrong with it', sure, smoke], 'mo'],
      ];
      for (const [at, steps, member] of ways) {
        const visit = await hall.open(390, { javaScript });
        const { page } = visit;
        if (member) await signIn(visit, member, demoPasswords(hall)[member]);
        await visit.go(at);
        let taps = 0;
        for (const step of steps) {
          const next = page.getByText(step, { exact: false }).first();
          const leads = await next.evaluate((one) => one.closest('a')?.href ?? '');
          taps += 1;
          await next.tap();
          if (leads) await page.waitForURL(leads);
          await page.waitForLoadState();
          if (leads.endsWith('now=yes')) {
            const fields = await page.locator('main :is(input, textarea, select)').count();
            const dial = await page.locator('.dial a, .dial-none').boundingBox();
            assert.equal(await page.locator('main a[href^="#"]').count(), 0, 'no tap there leads no further');
            assert.ok(fields === 0 && dial.y + dial.height <= 844, 'what to do is on the first screen, before any field');
            const hall = await page.locator('.hall').boundingBox();
            assert.ok(hall.height > 0 && hall.y + hall.height <= 844, 'and the address');
            const sizeOf = (selector) => page.locator(selector).first().evaluate((one) => Number.parseFloat(getComputedStyle(one).fontSize));
            const body = await sizeOf('body');
            for (const big of ['.dial a', '.hall']) assert.ok(await sizeOf(big) >= 1.5 * body, `${big} is in big print`);
          }
        }
        if (javaScript) await visit.axe();
        taps += 1;
        await page.getByRole('button', { name: 'Send the report' }).first().tap();
        await page.waitForURL(/\/reported\/|[?]told=/);
        assert.ok(taps <= 4, `${taps} taps`);
        assert.equal(await page.getByText('Not sent').count(), 0);
        if (javaScript) await visit.axe();
        await visit.noSidewaysScroll();
        await visit.close();
      }
      // Refused: what was typed and the photo stay, or the page says what became of it.
      const visit = await hall.open(390, { javaScript });
      await visit.go(`${wall}?now=no`);
      await visit.page.getByLabel('Where is it? (optional)').fill('by the door');
      await visit.page.getByLabel('In your own words').fill('it sparks');
      await visit.page.getByLabel('Photo (optional)').setInputFiles(photo);
      await visit.page.getByRole('button', { name: 'Send the report' }).first().tap();
      await visit.page.getByText('Choose what it is about.').first().waitFor();
      assert.equal(await visit.page.getByLabel('Where is it? (optional)').inputValue(), 'by the door');
      await visit.page.getByText(javaScript ? 'Your photo is still chosen.' : 'The photo was not kept: choose it again').waitFor();
      const files = visit.page.getByLabel('Photo (optional)');
      assert.equal(await files.evaluate((field) => field.files.length), javaScript ? 1 : 0);
      if (javaScript) await visit.axe();
      if (!javaScript) await files.setInputFiles(photo);
      await visit.page.getByLabel('A socket or cable').check();
      await visit.page.getByRole('button', { name: 'Send the report' }).first().tap();
      await visit.page.getByText('Nobody has read it yet').waitFor();
      const [report, ...more] = await told(quinn, 'it sparks');
      assert.deepEqual(more, []);
      assert.ok(await hasPhoto(quinn, report), 'the photo came along');
      assert.equal(await visit.page.getByText('Not sent').count(), 0);
      await visit.close();
    } finally {
      await hall.end();
    }
  });
}

/** What a phone that is full does, or one that keeps nothing for a page. */
const keepsNo = (page, what) => page.evaluate((what) => {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function kept(value, ...more) {
    if (what === 'nothing' || value.photo?.bytes) throw new DOMException('full', 'QuotaExceededError');
    return put.call(this, value, ...more);
  };
}, what);

test('a phone that is full keeps the words without the photo, and one that keeps nothing says so and takes nothing away', { timeout: 120_000 }, async () => {
  const hall = await hallWithPhone();
  const { phone, quinn } = hall;
  try {
    const [label] = await labels(quinn, 1);
    const page = await phone.start();
    await page.goto(`${label}/report?now=no`);
    await isReady(page);
    await keepsNo(page, 'photos');
    await page.getByText('Swollen or puffed').tap();
    await page.getByLabel('In your own words').fill('in the blue box');
    await page.getByLabel('Photo (optional)').setInputFiles(photo);
    await phone.cut();
    await page.getByRole('button', { name: 'Send the report' }).first().tap();
    await page.getByText('Not sent: tell a person now.').waitFor();
    assert.match(await page.getByLabel('The report as text').inputValue(), /in the blue box\n.*photo could not be kept/);
    await phone.mend();
    await until('it has come', async () => (await told(quinn, 'in the blue box')).length === 1);

    await page.goto(`${label}/report?now=no`);
    await isReady(page);
    await keepsNo(page, 'nothing');
    await page.getByText('Swollen or puffed').tap();
    await page.getByLabel('In your own words').fill('in the red box');
    await phone.cut();
    await page.getByRole('button', { name: 'Send the report' }).first().tap();
    await page.locator('#not-kept').getByText('Not sent: tell a person now.').waitFor();
    assert.equal(await page.evaluate(() => document.activeElement.id), 'not-kept', 'it is seen');
    assert.match(await page.locator('#not-kept textarea').inputValue(), /in the red box/);
    await page.locator('#not-kept').getByRole('button', { name: 'Copy it as text' }).tap();
    await page.locator('#not-kept').getByRole('button', { name: /Copied|Copy what is marked/ }).waitFor();
    assert.equal(await page.getByLabel('In your own words').inputValue(), 'in the red box', 'nothing is taken away');
    await phone.mend();
    await page.getByRole('button', { name: 'Send the report' }).first().tap();
    await page.waitForURL(/\/reported\//);
    assert.equal((await told(quinn, 'in the red box')).length, 1, 'sent at once it arrives once');
  } finally {
    await hall.end();
  }
});

test('what waits is sent as the network comes back and as the page is seen, without waiting for the clock', { timeout: 120_000 }, async () => {
  const hall = await hallWithPhone();
  const { phone, quinn } = hall;
  try {
    const [label] = await labels(quinn, 1);
    const page = await phone.start();
    // The clock of the page never ticks, and where it is asked for nobody tells it of the network.
    await page.addInitScript(() => {
      window.setInterval = () => 0;
      const listen = window.addEventListener;
      window.addEventListener = function heard(what, ...more) {
        if (what !== 'online' || !location.search.includes('deaf')) listen.call(this, what, ...more);
      };
    });
    for (const [words, comesBack] of [
      ['as the network comes back', () => phone.mend()],
      ['as the page is seen', async () => {
        // The network is there, and the page is not told so.
        await phone.mend();
        await new Promise((later) => setTimeout(later, 1_000));
        assert.deepEqual(await told(quinn, 'as the page is seen'), [], 'nothing but the page being seen sends it');
        await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')));
      }],
    ]) {
      await page.goto(`${label}/report?now=no${words === 'as the page is seen' ? '&deaf' : ''}`);
      await isReady(page);
      await page.getByText('Wet').first().tap();
      await page.getByLabel('In your own words').fill(words);
      await phone.cut();
      await page.getByRole('button', { name: 'Send the report' }).first().tap();
      await page.getByText('Not sent: tell a person now.').waitFor();
      await comesBack();
      await until(`it is sent ${words}`, async () => (await told(quinn, words)).length === 1, 5_000);
    }
  } finally {
    await hall.end();
  }
});
