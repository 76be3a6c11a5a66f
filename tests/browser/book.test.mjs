// The page that checks an incident book that was given away: opened from disk, without a network, it agrees with the command on
// books that hold and on ones that were tampered with. A time share in every run, 10,000 rounds with SANDBUCKET_LONG=1.
import assert from 'node:assert/strict';
import { execFile } from 'node:child_process';
import { appendFile, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { after, before, test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { Copied, TAMPERINGS, diceOf, unzip } from './book_forged.mjs';
import { demoPasswords, signIn, startHall } from './support.mjs';

const program = resolve(import.meta.dirname, '../../target/debug/sandbucket');
const isLong = Boolean(process.env.SANDBUCKET_LONG);
const SHARE_MS = 30_000;
const FULL_COUNT = 10_000;

let hall;
let folder;
/** The zip that the club gave away. */
let given;

before(async () => {
  hall = await startHall({ demo: true });
  folder = await mkdtemp(join(tmpdir(), 'sandbucket-book-'));
  const visit = await hall.open(1280);
  await signIn(visit, 'quinn', demoPasswords(hall).quinn);
  await visit.page.waitForURL('**/to-see-to');
  for (const words of ['It smoked on the table.', 'A cable glowed.']) await openIncident(visit, words);
  given = await (await visit.page.request.get(`${hall.base}/book/export.zip`)).body();
  await writeFile(join(folder, 'check.html'), unzip(given).get('check.html'));
  await visit.close();
});

after(async () => {
  await hall?.end();
  if (folder) await rm(folder, { recursive: true, force: true });
});

async function openIncident(visit, words) {
  const { page } = visit;
  await visit.go('/book/new');
  for (const [name, code] of Object.entries({ kind: 'smoke', harm: 'nobody', harm_could: 'first_aid', damage_was: 'itself_only', damage_could: 'itself_only', doing: 'in_use' })) {
    await page.check(`input[name=${name}][value=${code}]`);
  }
  await page.fill('input[name=day]', '2026-01-05');
  await page.fill('input[name=time]', '18:05');
  await page.fill('input[name=place]', 'Hall, table 2');
  await page.fill('textarea[name=words]', words);
  await page.fill('input[name=who_was_there]', 'Ada and Ben');
  await page.getByRole('button', { name: 'Write it into the book' }).click();
  await page.waitForURL('**/book/I-*');
}

/** The page from disk, in a browser that has no network. */
async function verifier(width, how) {
  const visit = await hall.open(width, how);
  await visit.page.context().setOffline(true);
  await visit.page.goto(pathToFileURL(join(folder, 'check.html')).href);
  return visit;
}

async function byPage({ page }, { name, bytes, printed }) {
  await page.evaluate(() => { document.getElementById('verdict').dataset.holds = ''; });
  await page.setInputFiles('#file', { name, mimeType: 'application/octet-stream', buffer: bytes });
  await page.fill('#number', printed ? String(printed.count) : '');
  await page.fill('#seal', printed ? printed.hash : '');
  await page.fill('#time', printed?.time ?? '');
  await page.click('button');
  const verdict = page.locator('#verdict:not([data-holds=""])');
  await verdict.waitFor();
  const [holds, entry, words] = [await verdict.getAttribute('data-holds'), await verdict.getAttribute('data-entry'), await verdict.innerText()];
  return { holds: holds === 'yes', entry: entry || null, words };
}

async function byCommand({ name, bytes, printed }) {
  const file = join(folder, name);
  await writeFile(file, bytes);
  const against = printed ? ['--number', String(printed.count), '--seal', printed.hash, ...(printed.time ? ['--time', printed.time] : [])] : [];
  const said = await new Promise((told) => {
    execFile(program, ['book', 'verify', '--file', file, ...against], { env: { PATH: process.env.PATH } }, (error, out, err) => told({ holds: !error, words: out + err }));
  });
  if (!said.holds) assert.match(said.words, /does not hold|what was typed is no end/, said.words);
  return { ...said, entry: /Entry (\d+):/.exec(said.words)?.[1] ?? null };
}

/** One book after the other, whole and then tampered with in up to 25 ways, as long as `more` says. */
async function compare(seed, lane, more) {
  const dice = diceOf(seed);
  const visit = await verifier(390);
  const asked = [];
  visit.page.on('request', (request) => { if (!request.url().startsWith('blob:')) asked.push(request.url()); });
  const names = Object.keys(TAMPERINGS);
  let [rounds, book] = [0, null];
  while (more(rounds)) {
    if (rounds % 25 === 0) {
      book = Copied.read(given);
      book.writeOn(dice);
      const file = { name: `book-${lane}.zip`, bytes: book.packed(), printed: book.head };
      const [page, command] = [await byPage(visit, file), await byCommand(file)];
      assert.ok(page.holds && command.holds, `seed ${seed}: ${page.words} / ${command.words}`);
      assert.match(page.words, /What was printed still stands/);
    }
    const how = names[rounds < names.length ? rounds : dice(names.length)];
    const forged = book.copy();
    const isAlone = dice(5) === 0 && !how.includes('photo');
    rounds += 1;
    if (TAMPERINGS[how](forged, dice) === false) continue;
    const file = isAlone ? { name: `book-${lane}.json`, bytes: Buffer.from(forged.text()) } : { name: `book-${lane}.zip`, bytes: forged.packed() };
    file.printed = book.head;
    const [page, command] = [await byPage(visit, file), await byCommand(file)];
    const told = `seed ${seed}, ${how}: page: ${page.words} / command: ${command.words}`;
    assert.ok(!page.holds && !command.holds, `not found by both: ${told}`);
    assert.equal(page.entry, command.entry, told);
  }
  assert.deepEqual(asked, [], 'the page asks no network');
  await visit.close();
}

test('the page and the command agree on every book, whole or tampered with', async (t) => {
  const seed = Number(process.env.SANDBUCKET_TEST_SEED) || Date.now() % 0xffffffff;
  const least = 2 * Object.keys(TAMPERINGS).length;
  const began = Date.now();
  let rounds = 0;
  const more = (own) => {
    const goesOn = isLong ? rounds < FULL_COUNT : own < least || Date.now() - began < SHARE_MS;
    rounds += Number(goesOn);
    return goesOn;
  };
  // In full by four at once, each on a page of its own.
  const lanes = isLong ? [0, 1, 2, 3] : [0];
  await Promise.all(lanes.map((lane) => compare(seed + lane, lane, more)));
  const line = `tamperings with a book given away, page against command: ${rounds} rounds in ${Math.round((Date.now() - began) / 1000)} s (full count ${FULL_COUNT}); all found by both`;
  t.diagnostic(line);
  if (process.env.SANDBUCKET_PROOF_LOG) await appendFile(process.env.SANDBUCKET_PROOF_LOG, `${line}\n`);
});

test('what the club gave away holds, and the page says what was and what was not proven', async () => {
  const visit = await verifier(390);
  const { head } = Copied.read(given);
  const alone = { name: 'book.zip', bytes: given };
  assert.match((await byPage(visit, alone)).words, new RegExp(`each of its ${head.count} entries.*No printed end was compared`, 's'));
  const time = new Date(head.at_ms).toISOString().replace(/\.\d+Z$/, 'Z');
  const against = { ...alone, printed: { ...head, hash: head.hash.toUpperCase().replace(/(.{8})/g, '$1 '), time } };
  assert.match((await byPage(visit, against)).words, /What was printed still stands/);
  assert.ok((await byCommand(against)).holds);
  const later = { ...alone, printed: { ...head, time: '2020-01-01T00:00:00Z' } };
  const elsewhere = [head.count - 1, head.count + 3].map((count) => ({ ...alone, printed: { ...head, count } }));
  for (const typed of [later, ...elsewhere]) {
    const [page, command] = [await byPage(visit, typed), await byCommand(typed)];
    assert.ok(!page.holds && !command.holds && page.entry === command.entry, `${page.words} / ${command.words}`);
    assert.match(page.words, /Look at what was typed/);
    assert.match(command.words, /what was typed is no end of it/);
  }
  const nowhere = { ...alone, printed: { ...head, hash: 'a'.repeat(64) } };
  for (const told of [await byPage(visit, nowhere), await byCommand(nowhere)]) assert.match(told.words, /does not hold[\s\S]*was rewritten/);
  assert.match(await (await byPage(visit, { ...alone, printed: { count: 2, hash: 'abc' } })).words, /64 of the digits/);
  assert.match((await byPage(visit, { name: 'book.zip', bytes: Buffer.from('PK nothing') })).words, /no zip/);
  assert.match((await byPage(visit, { name: 'minutes.txt', bytes: Buffer.from('Minutes of the meeting') })).words, /no incident book[\s\S]*another file/);
  await byPage(visit, against);
  await visit.page.locator('summary').click();
  assert.match(await visit.page.locator('#entries').innerText(), /It smoked on the table\.[\s\S]*Ada and Ben/);
  await visit.close();
});

test('the page reads well at every width, in light and dark', async () => {
  for (const colorScheme of ['light', 'dark']) {
    for (const width of [320, 390, 1280]) {
      const visit = await verifier(width, { colorScheme });
      await visit.axe();
      await byPage(visit, { name: 'book.zip', bytes: given, printed: Copied.read(given).head });
      await visit.axe();
      await visit.noSidewaysScroll();
      await byPage(visit, { name: 'book.zip', bytes: Buffer.from('{}') });
      await visit.axe();
      await visit.close();
    }
  }
});
