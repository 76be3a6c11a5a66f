// What is tapped in the hall, on a phone, is large enough for a thumb: every field, button and link of the pages that are open
// while packs go out and come back, but for links in the middle of a sentence. Those among them that are actions are named here.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { demoPasswords, signIn, startHall } from './support.mjs';

const PAGES = ['/packs', '/packs/P-002', '/packs/P-004', '/packs/P-007', '/packs/P-018', '/packs/P-018/readings',
  '/packs/P-018/volts', '/packs/P-018/condition', '/hand-out', '/loans', '/take-back', '/mine', '/night', '/kit', '/places'];

/** Actions in a sentence: on which page, and by which address. */
const NAMED = [
  ['/hand-out', 'a[href="/night"]', ['The night']],
  ['/loans', 'td a[href^="/loans/"]', ['Loan']],
  ['/loans', 'td a[href^="/take-back/"]', ['Take back']],
  ['/loans', '.told a[href^="/loans/"]', ['Ada Sluys’s loan']],
  ['/packs/P-018', 'a[href$="/readings"], a[href$="/details"]', ['All readings, and what they tell', 'Change details']],
  ['/packs', 'a[href="/packs/new"], a[href="/designs"]', ['Register packs', 'Designs']],
];

test('in the hall a thumb hits what it is after', { timeout: 120_000 }, async () => {
  const hall = await startHall({ demo: true });
  const wrong = [];
  const visit = await hall.open(390);
  const { page } = visit;
  const measure = (selector) => visit.bigTargets(selector).catch((error) => wrong.push(error.message));
  try {
    await signIn(visit, 'quinn', demoPasswords(hall).quinn);
    for (const address of PAGES) {
      await visit.go(address);
      await measure();
    }
    for (const [address, selector, words] of NAMED) {
      await visit.go(address);
      // What stands to be seen: for a screen reader a link goes on in words of its own (the loan "of P-016").
      const found = (await page.locator(`main :is(${selector})`).allInnerTexts()).map((text) => text.split('\n')[0].trim());
      assert.deepEqual([...new Set(found)], words, `${selector} on ${address}`);
      await measure(`main :is(${selector})`);
    }
    await errand(page, measure);
    await noNight(page, measure);
    assert.deepEqual(wrong, []);
  } finally {
    await visit.close();
    await hall.end();
  }
});

/** From the loan's page to what came of taking it back. */
async function errand(page, measure) {
  await page.goto('/loans');
  await page.getByRole('row', { name: 'C-02' }).getByRole('link', { name: 'Loan of C-02', exact: true }).click();
  await measure();
  await page.getByRole('link', { name: 'Take back', exact: true }).last().click();
  await measure();
  for (const nothing of await page.locator('main input[value=nothing]').all()) await nothing.check();
  await page.locator('main button.main').click();
  await measure();
  for (const why of await page.getByLabel('Or: why they could not be read (optional)').all()) await why.fill('No meter here.');
  await page.getByRole('button', { name: 'Rested an hour or more' }).click();
  await page.getByRole('heading', { name: 'Taken back' }).waitFor();
  await measure();
}

/** With no night open the page offers to open one. */
async function noNight(page, measure) {
  await page.goto('/night');
  await page.locator('form[action$="/close"] button').click();
  await page.goto('/hand-out');
  assert.deepEqual(await page.locator('main a[href="/night"]').allInnerTexts(), ['Open the night']);
  await measure('main a[href="/night"]');
}
