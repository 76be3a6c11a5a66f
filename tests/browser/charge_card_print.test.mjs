// A card to charge by, printed by the browser itself, is one sheet: whoever carries it to the charger reads what to stop at on the
// same page as what to set. The longest card of the demo club, on A4 and on Letter, and the same with every caution there is.
// So is the record of a storage round of twenty packs, however long the names of packs and people are; and the card for the wall, with as
// much of the club's own plan as hangs well.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { demoPasswords, signIn, startHall } from './support.mjs';

const ASKED = ['purpose=ready_by&at=23%3A59', 'purpose=ready_by&at=00%3A01', 'purpose=storage', 'purpose=empty'];
/** More than a card can carry at once: cold and hot, quick and late exclude each other. */
const CAUTIONS = 9;

/** Pages of a PDF as Chromium writes it: each is an object of its own. */
function pagesOf(pdf) {
  return pdf.toString('latin1').match(/\/Type\s*\/Page(?!s)/g)?.length ?? 0;
}

async function sheets(page, format) {
  return pagesOf(await page.pdf({ format, margin: { top: '10mm', bottom: '10mm', left: '10mm', right: '10mm' } }));
}

/** The address of the card with the most words, and how many cards there are. */
async function longestCard(visit) {
  await visit.go('/packs');
  const numbers = await visit.page.locator('table.rows tbody th a').allInnerTexts();
  return visit.page.evaluate(async ([numbers, asked]) => {
    let longest = ['', 0];
    let cards = 0;
    for (const number of numbers) {
      for (const query of asked) {
        const address = `/packs/${number}/charge?${query}&room=3&pack=3`;
        const answer = await fetch(address);
        const seen = new DOMParser().parseFromString(await answer.text(), 'text/html').querySelector('main');
        if (!seen.querySelector('dl.set')) continue;
        cards += 1;
        seen.querySelectorAll('.no-print').forEach((part) => part.remove());
        const { length } = seen.textContent.replaceAll(/\s+/g, ' ');
        if (length > longest[1]) longest = [address, length];
      }
    }
    return { address: longest[0], cards };
  }, [numbers, ASKED]);
}

test('a card to charge by is printed on one sheet', { timeout: 120_000 }, async () => {
  const hall = await startHall({ demo: true });
  const visit = await hall.open(1280);
  try {
    await signIn(visit, 'quinn', demoPasswords(hall).quinn);
    const { address, cards } = await longestCard(visit);
    assert.ok(cards > 3, `${cards} cards`);
    await visit.go(address);
    for (const format of ['A4', 'Letter']) {
      assert.equal(await sheets(visit.page, format), 1, `${address} on ${format}`);
    }
    // The demo's packs are seldom in all trouble at once.
    const told = visit.page.locator('main ul.told').first();
    await told.evaluate((list, most) => {
      const line = list.querySelector('li');
      while (list.children.length < most) list.append(line.cloneNode(true));
    }, CAUTIONS);
    assert.equal(await sheets(visit.page, 'A4'), 1, `${CAUTIONS} cautions on A4`);
    // The count bites: what does not fit is counted.
    await told.evaluate((list) => list.append(...Array.from({ length: 60 }, () => list.querySelector('li').cloneNode(true))));
    assert.ok(await sheets(visit.page, 'A4') > 1);
  } finally {
    await visit.close();
    await hall.end();
  }
});

/** Twenty packs, four in each of the ways in which one can stand: names as long as a design's may be, people with long ones. */
function lengthen(record) {
  const [title, table] = [record.querySelector('h3'), record.querySelector('table')];
  const [line] = table.querySelectorAll('tbody tr');
  const called = (letters) => 'Featherstonehaugh-Cholmondeley of Woolfardisworthy and Wymondham'.slice(0, letters);
  const [number, what, volts, read] = line.children;
  number.firstElementChild.textContent = 'P-1014';
  what.querySelector('.name').textContent = `${called(60)}.`;
  what.querySelectorAll('small, a').forEach((part) => part.remove());
  const why = document.createElement('small');
  why.className = 'why';
  why.textContent = ` At home with ${called(30)} until Wed 25 Nov 2026.`;
  what.append(why);
  volts.textContent = '4.18 4.18 4.18 4.18 4.18 4.18';
  read.textContent = `Wed 25 Nov 2026, 19:30, by ${called(30)}`;
  const body = table.querySelector('tbody');
  body.replaceChildren(...[1, 2, 3, 4].map(() => line.cloneNode(true)));
  const groups = [1, 2, 3, 4, 5].flatMap(() => [title.cloneNode(true), table.cloneNode(true)]);
  record.replaceChildren(record.querySelector('h2'), ...groups);
  return record.querySelectorAll('tbody tr').length;
}

test('the record of a storage round of twenty packs is printed on one sheet', { timeout: 120_000 }, async () => {
  const hall = await startHall({ demo: true });
  const visit = await hall.open(1280);
  try {
    await signIn(visit, 'quinn', demoPasswords(hall).quinn);
    await visit.go('/storage-rounds');
    await visit.page.getByRole('link', { name: 'After Autumn Bouts' }).click();
    const record = visit.page.locator('.record');
    assert.equal(await record.evaluate(lengthen), 20);
    for (const format of ['A4', 'Letter']) {
      assert.equal(await sheets(visit.page, format), 1, format);
    }
    await record.evaluate((all) => all.append(...[...all.children].map((part) => part.cloneNode(true))));
    assert.ok(await sheets(visit.page, 'Letter') > 1, 'what does not fit is counted');
  } finally {
    await visit.close();
    await hall.end();
  }
});

test('the card for the wall is printed on one sheet, its plan written down', { timeout: 60_000 }, async () => {
  const hall = await startHall({ demo: true });
  const visit = await hall.open(1280);
  try {
    await signIn(visit, 'quinn', demoPasswords(hall).quinn);
    await visit.page.waitForURL('**/to-see-to');
    await visit.go('/wall-card/plan');
    const words = 'Whoever of those on duty stands nearest to it, and says so aloud; else the next one.';
    for (const field of await visit.page.locator('main input:not([type=hidden]), main textarea').all()) await field.fill(words);
    await visit.page.locator('main form button').first().click();
    await visit.page.waitForURL('**/wall-card');
    assert.match(await visit.page.locator('main').innerText(), new RegExp(words));
    for (const format of ['A4', 'Letter']) assert.equal(await sheets(visit.page, format), 1, format);
  } finally {
    await visit.close();
    await hall.end();
  }
});
