// A person's calendar: its address made without JavaScript, and what stands there read by a parser that shares no code with ours
// (ical.js, strict, from npm), hostile names and all.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import ICAL from 'ical.js';
import { demoPasswords, signIn, startHall } from './support.mjs';

/** Names as somebody hostile might type them; a form takes no line breaks in them. */
const HOSTILE = [
  'Bouts; with, commas \\ and \\n no break',
  'BEGIN:VALARM END:VEVENT',
  `Ĳ漢字🔋 ${'ß'.repeat(50)}`,
];

let hall;

before(async () => {
  hall = await startHall({ demo: true });
});

after(() => hall?.end());

/** Events of the calendar at this address. */
async function read(address) {
  const answer = await fetch(address);
  assert.equal(answer.status, 200);
  assert.equal(answer.headers.get('content-type'), 'text/calendar; charset=utf-8');
  const text = await answer.text();
  for (const line of text.split('\r\n')) assert.ok(Buffer.byteLength(line) <= 75, line);
  assert.ok(!text.replaceAll('\r\n', '').includes('\n'), 'every line ends as RFC 5545 asks');
  const calendar = new ICAL.Component(ICAL.parse(text));
  assert.equal(calendar.getFirstPropertyValue('version'), '2.0');
  assert.ok(calendar.getFirstPropertyValue('prodid'));
  return calendar.getAllSubcomponents('vevent').map((event) => new ICAL.Event(event));
}

async function makeEvent(visit, name, days) {
  const { page } = visit;
  await visit.go('/events/new');
  await page.getByLabel('Name', { exact: true }).fill(name);
  await page.getByLabel('First day').fill(days[0]);
  await page.getByLabel('Last day').fill(days[1]);
  await page.getByRole('button', { name: /^Make/ }).click();
  await page.waitForURL(/\/events\/[0-9a-f-]+/);
}

const dayFromNow = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

test('a calendar is read by a parser of its own, hostile names included', async () => {
  const visit = await hall.open(390, { javaScript: false });
  const { page } = visit;
  await signIn(visit, 'quinn', demoPasswords(hall).quinn);
  await page.waitForURL('**/to-see-to');
  const [first, last] = [dayFromNow(20), dayFromNow(21)];
  for (const name of HOSTILE) await makeEvent(visit, name, [first, last]);
  await visit.go('/me');
  await page.getByRole('link', { name: 'Your calendar' }).click();
  await page.getByRole('button', { name: 'Make an address' }).click();
  const address = await page.locator('main code').innerText();
  const events = await read(address);
  const uids = new Set(events.map((event) => event.uid));
  assert.equal(uids.size, events.length, 'each has an id of its own');
  for (const name of HOSTILE) {
    const event = events.find((one) => one.summary === name);
    assert.ok(event, `${name} in ${events.map((one) => one.summary).join('; ')}`);
    assert.ok(event.startDate.isDate, 'a day, at no hour');
    assert.equal(event.startDate.toString(), first);
    assert.equal(event.endDate.toString(), dayFromNow(22), 'the day after the last one');
  }
  for (const event of events) {
    assert.equal(event.component.getAllSubcomponents().length, 0);
    const stamp = event.component.getFirstPropertyValue('dtstamp');
    assert.equal(stamp.zone, ICAL.Timezone.utcTimezone, 'stamped in UTC');
  }
  const again = await read(address);
  assert.deepEqual(again.map((event) => event.uid), [...uids]);
  await page.getByRole('link', { name: 'I have copied it' }).click();
  assert.ok(!(await page.content()).includes(address));
  await page.getByRole('button', { name: 'End the address' }).click();
  assert.equal((await fetch(address)).status, 404);
  await visit.close();
});

test('its pages look well and read well at every width', async () => {
  for (const colorScheme of ['light', 'dark']) {
    for (const width of [320, 390, 1280]) {
      const visit = await hall.open(width, { colorScheme });
      const look = async () => {
        await visit.axe();
        await visit.noSidewaysScroll();
      };
      await signIn(visit, 'quinn', demoPasswords(hall).quinn);
      await visit.page.waitForURL('**/to-see-to');
      await visit.go('/me/calendar');
      await look();
      await visit.page.getByRole('button', { name: /^Make/ }).click();
      await look();
      await visit.page.getByRole('link', { name: 'I have copied it' }).click();
      await look();
      await visit.close();
    }
  }
});
