// Cell volts under a thumb: what is typed, tapped and corrected on a phone ends in the boxes, and on record, as it was meant.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { demoPasswords, signIn, startHall } from './support.mjs';

let hall;
let storageState;

before(async () => {
  hall = await startHall({ demo: true });
  const visit = await hall.open(390);
  await signIn(visit, 'quinn', demoPasswords(hall).quinn);
  await visit.page.waitForURL('**/to-see-to');
  storageState = await visit.context.storageState();
  await visit.close();
});

after(() => hall?.end());

/** Opens the volts of a pack of that many cells and hands its boxes to `act`, then closes. */
async function withBoxes(cells, act) {
  const number = { 2: 'P-004', 3: 'P-010', 4: 'P-013', 6: 'P-016' }[cells];
  const visit = await hall.open(390, { storageState });
  const { page } = visit;
  await visit.go(`/packs/${number}/volts`);
  const boxes = page.locator('.boxes input');
  assert.equal(await boxes.count(), cells);
  const shown = () => boxes.evaluateAll((all) => all.map((box) => box.value));
  const thumb = {
    visit,
    number,
    shown,
    tap: (cell) => boxes.nth(cell - 1).tap(),
    type: (text) => page.keyboard.type(text),
    /** The cell whose box has the focus. */
    at: () => boxes.evaluateAll((all) => all.indexOf(document.activeElement) + 1),
    /** What the boxes hold once the thumb is elsewhere. */
    left: async () => {
      await page.getByLabel('Rested an hour or more').tap();
      return shown();
    },
    /** Sends the form; the last volts on record then, or the sentence that refuses. */
    send: async () => {
      await page.getByLabel('Rested an hour or more').check();
      await Promise.all([page.waitForNavigation(), page.locator('main button.main').tap()]);
      if (new URL(page.url()).pathname.endsWith('/volts')) return page.locator('#problems').innerText();
      await visit.go(`/packs/${number}/readings`);
      return page.locator('tbody td').first().innerText();
    },
  };
  await act(thumb);
  await visit.close();
}

test('two decimals typed straight through fill one box after the other', async () => {
  await withBoxes(3, async ({ tap, type, at, shown, left, send }) => {
    await tap(1);
    await type('391');
    assert.deepEqual(await shown(), ['3.91', '', '']);
    await type('387');
    assert.equal(await at(), 2);
    await type('390');
    assert.equal(await at(), 3);
    assert.deepEqual(await shown(), ['3.91', '3.87', '3.90']);
    assert.deepEqual(await left(), ['3.91', '3.87', '3.90']);
    assert.match(await send(), /3\.91 3\.87 3\.90/);
  });
});

test('three decimals with a tap before each box stay in the box that was tapped', async () => {
  await withBoxes(3, async ({ tap, type, at, left, send }) => {
    for (const [index, digits] of ['3912', '3874', '3903'].entries()) {
      await tap(index + 1);
      await type(digits);
      assert.equal(await at(), index + 1);
    }
    assert.deepEqual(await left(), ['3.912', '3.874', '3.903']);
    assert.match(await send(), /3\.912 3\.874 3\.903/);
  });
});

test('three decimals typed straight through are four digits to a cell', async () => {
  for (const [cells, typed, meant] of [
    [2, '39123874', ['3.912', '3.874']],
    [3, '391238743903', ['3.912', '3.874', '3.903']],
    [3, '333433333334', ['3.334', '3.333', '3.334']],
    [4, '3912387439033881', ['3.912', '3.874', '3.903', '3.881']],
  ]) {
    await withBoxes(cells, async ({ tap, type, left }) => {
      await tap(1);
      await type(typed);
      assert.deepEqual(await left(), meant, typed);
    });
  }
});

test('whoever types the decimal mark stays in the box until Enter or a tap', async () => {
  await withBoxes(3, async ({ visit, tap, type, at, left, send }) => {
    await tap(1);
    await type('3.912');
    assert.equal(await at(), 1);
    await visit.press('Enter');
    assert.equal(await at(), 2);
    await type('3,87');
    assert.equal(await at(), 2);
    await tap(3);
    await type('3.9');
    assert.deepEqual(await left(), ['3.912', '3.87', '3.9']);
    assert.match(await send(), /3\.912 3\.87 3\.90/);
  });
});

test('a line shows how each of its cells is read before it counts', async () => {
  await withBoxes(3, async ({ visit }) => {
    for (const [typed, said] of [
      ['3.91 3.87 3.90', '1: 3.91   2: 3.87   3: 3.90'],
      ['391387390', '1: 3.91   2: 3.87   3: 3.90'],
      ['4.1 44 410', '1: 4.1 ?   2: 4.4 ?   3: 4.10'],
    ]) {
      const line = visit.page.locator('input[name=volts_line]');
      if (!await line.isVisible()) await visit.page.locator('details:has(input[name=volts_line]) > summary').tap();
      await line.fill(typed);
      assert.equal(await visit.page.locator('.volts output').innerText(), said);
    }
  });
});

test('the middle box is corrected and its neighbours are left alone', async () => {
  await withBoxes(3, async ({ visit, tap, type, at, left, send }) => {
    await tap(1);
    await type('391367390');
    await tap(2);
    await visit.press('End Backspace Backspace Backspace Backspace');
    await type('3871');
    assert.equal(await at(), 2);
    assert.deepEqual(await left(), ['3.91', '3.871', '3.90']);
    await tap(2);
    await visit.press('End Backspace');
    assert.deepEqual(await left(), ['3.91', '3.87', '3.90']);
    assert.match(await send(), /3\.91 3\.87 3\.90/);
  });
});

test('what was typed on and on is taken back digit by digit', async () => {
  await withBoxes(3, async ({ visit, tap, type, at, shown, left }) => {
    await tap(1);
    await type('39138');
    assert.deepEqual(await shown(), ['3.91', '38', '']);
    await visit.press('Backspace Backspace Backspace');
    assert.equal(await at(), 1);
    await type('2387390');
    assert.deepEqual(await left(), ['3.92', '3.87', '3.90']);
  });
});

test('digits that part in no way, or in two, stay together where they were typed and are refused', async () => {
  for (const [cells, typed, kept] of [
    [3, '39138', ['39138', '', '']],
    [3, '3913873', ['3913873', '', '']],
    [3, '3913873901', ['3913873901', '', '']],
    [3, '39123.', ['39123.', '', '']],
    [6, '333333333334', ['333333333334', '', '', '', '', '']],
  ]) {
    await withBoxes(cells, async ({ tap, type, left, send }) => {
      await tap(1);
      await type(typed);
      assert.deepEqual(await left(), kept);
      assert.match(await send(), new RegExp(`'${parseInt(typed, 10)}' is not a voltage`));
    });
  }
});
