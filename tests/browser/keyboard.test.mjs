// The evening by the keyboard alone: no pointer is used, every field and button is reached by the Tab key with its focus to be
// seen, choices are made as keyboards make them. From the set-up code to the verdict.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { startHall } from './support.mjs';

test('a club is set up, packs go out and come back by the keyboard alone', { timeout: 300_000 }, async () => {
  const hall = await startHall();
  try {
    const visit = await hall.open(1280);
    const { page } = visit;
    const { type } = hands(visit);
    await visit.go('/start');
    await type('Set-up code', hall.setUpCode);
    await visit.tabTo('Our own club, empty');
    await visit.press('Space');
    await type('Name of the club', 'Millrace Robotics Club');
    await type('Time zone', 'Europe/London');
    await type('Your name', 'Quinn Marlow');
    await type('Sign-in', 'quinn');
    await type('Password', 'tidal moss bees nine');
    await arrive(visit, 'Enter', /\/to-see-to|\/$/);

    await skipTheHeader(visit);
    await induct(visit);
    await register(visit);
    await handOut(visit);
    await takeBack(visit);
    assert.deepEqual(await page.locator('.verdict strong').allInnerTexts(), ['Fit', 'Quarantine']);
    await visit.close();
  } finally {
    await hall.end();
  }
});

/** What fingers do: `type` goes to a field and types, `follow` goes to a button or link and presses it. */
function hands(visit) {
  return {
    type: async (label, text) => {
      await visit.tabTo(label);
      await visit.page.keyboard.type(text);
    },
    follow: async (label, to) => {
      await visit.tabTo(label);
      await arrive(visit, 'Enter', to);
    },
  };
}

/** Presses the key and waits for the page that it leads to. */
async function arrive(visit, key, to) {
  await visit.press(key);
  await visit.page.waitForURL((url) => to.test(url.pathname + url.search), { timeout: 10_000 });
  await visit.page.waitForLoadState();
}

/** The first stop of the Tab key is the way past the header; it leads into the page. */
async function skipTheHeader(visit) {
  await visit.page.reload();
  await visit.press('Tab');
  const first = await visit.page.evaluate(() => document.activeElement.getAttribute('href'));
  assert.equal(first, '#main');
  await visit.press('Enter');
  await visit.press('Tab');
  assert.ok(await visit.page.evaluate(() => document.querySelector('main').contains(document.activeElement)), 'past the header');
}

async function induct(visit) {
  const { type, follow } = hands(visit);
  await visit.go('/people/new');
  await type('Name', 'Ada Fenn');
  await type('Who answers for them?', 'Quinn');
  await follow('Add', /\/people\/[0-9a-f-]{36}/);
  await follow('Note an induction', /\/induction$/);
  await type('Who showed it?', 'Quinn');
  const [year, month, day] = new Date().toISOString().slice(0, 10).split('-');
  await type('Shown on', month + day + year);
  await follow('Note it', /\/people\/[0-9a-f-]{36}$/);
}

async function register(visit) {
  const { type, follow } = hands(visit);
  await visit.go('/designs/new');
  await type('Name in the club', '3S 450');
  await type('Chemistry', 'LiPo');
  await type('Cells in series', '3');
  await type('Capacity', '450 mAh');
  await type('Discharge connector', 'XT30');
  await type('Balance connector', 'JST-XH');
  await follow('Register the design', /\/packs\/new/);
  await visit.tabTo('How many alike');
  await visit.press('Control+a');
  await visit.page.keyboard.type('2');
  await follow('Register', /\/packs\/registered/);
}

async function handOut(visit) {
  const { page } = visit;
  const { type, follow } = hands(visit);
  await follow('Hand out', /\/hand-out/);
  await type('To whom', 'Ada');
  await type('What', '1-2');
  // Enter in a field gathers, for scanners end each line with it: the button hands out.
  await follow('Hand out', /\/hand-out/);
  assert.match(await page.locator('.refused').innerText(), /P-001 is not known/);
  await visit.tabTo('Just used');
  await choose(visit, 'Rested an hour or more');
  for (const number of ['P-001', 'P-002']) await type(number, '391390391');
  await follow('Hand out', /\/loans\//);
}

/** Arrows go from one radio button of a group to the next. */
async function choose(visit, words) {
  for (let pressed = 0; pressed < 10; pressed += 1) {
    const label = await visit.page.evaluate(() => document.activeElement.checked && document.activeElement.labels[0].textContent);
    if (label && label.includes(words)) return;
    await visit.press('ArrowDown');
  }
  assert.fail(`no arrow leads to "${words}"`);
}

async function takeBack(visit) {
  const { page } = visit;
  const { follow } = hands(visit);
  await follow('Take back', /\/take-back$/);
  await follow('Ada Fenn', /\/take-back\/items/);
  await visit.tabTo('Nothing to see on any of these 2');
  await visit.press('Space');
  await follow('Go on', /\/take-back\/volts/);
  await visit.tabTo('Cell 1');
  // The digits alone: each box passes on to the next.
  await page.keyboard.type('391390391');
  const boxes = page.locator('fieldset.volts').first().locator('.boxes input');
  assert.deepEqual(await boxes.evaluateAll((all) => all.map((box) => box.value)), ['3.91', '3.90', '3.91']);
  await visit.tabTo('Cell 1');
  await page.keyboard.type('391280390');
  await follow('Rested an hour or more', /\/take-back\/done/);
}
