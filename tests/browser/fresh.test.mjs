// Lists that show by themselves what came: a report appears on a page that is open, is said politely, and neither takes the focus nor
// what is typed. Without JavaScript the page is as it was, and works.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { demoPasswords, signIn, startHall } from './support.mjs';
import { desk } from './phone.mjs';

test('a report shows on the open list by itself, and the focus stays where it was', { timeout: 120_000 }, async () => {
  const hall = await startHall({ demo: true });
  try {
    const passwords = demoPasswords(hall);
    const mo = await desk(hall.base, 'mo', passwords.mo);
    await mo.send('/packs/P-002/condition', { seen: 'wrap_torn' });
    const quinn = await hall.open(390);
    const { page } = quinn;
    await signIn(quinn, 'quinn', passwords.quinn);
    await quinn.go('/reports');
    const first = page.locator('[data-fresh=unread] tbody th a').first();
    const held = await first.innerText();
    await first.focus();
    await mo.send('/packs/P-003/condition', { seen: 'swollen', own_words: 'as a cushion' });
    await page.getByText('Swollen or puffed: as a cushion').waitFor();
    assert.equal(await page.locator('[data-fresh-said]').innerText(), '1 report came or was read.');
    assert.equal(await page.locator('[data-fresh-said]').getAttribute('role'), 'status', 'said politely');
    assert.equal(await page.evaluate(() => document.activeElement.textContent), held, 'the focus is on the same report');
    assert.match(await page.locator('header').innerText(), /2 reports that nobody has read/, 'and so does the count on top');
    await quinn.axe();
    await quinn.noSidewaysScroll();
    await quinn.shot('reports-fresh');

    await quinn.go(await page.locator('[data-fresh=unread] tbody th a').first().getAttribute('href'));
    await page.fill('textarea[name=answer]', 'half a sen');
    const other = await desk(hall.base, 'quinn', passwords.quinn);
    await other.send(new URL(page.url()).pathname, { what: 'answer', answer: 'Keep away from it.' });
    await page.locator('dd', { hasText: 'Keep away from it.' }).waitFor();
    assert.equal(await page.locator('[data-fresh-said]').innerText(), '2 things are new here.', 'that it was read, and the answer');
    assert.equal(await page.inputValue('textarea[name=answer]'), 'half a sen', 'what is typed stays');
    await quinn.axe();

    await quinn.go('/packs?state=fit');
    const fine = await page.locator('tbody tr:not(:has-text("out:")) th a').first().innerText();
    await quinn.go('/to-see-to');
    assert.equal(await page.locator('[data-fresh=list]').getByRole('link', { name: fine, exact: true }).count(), 0);
    await mo.send(`/packs/${fine}/condition`, { seen: 'wet' });
    await page.locator('[data-fresh=list]').getByRole('link', { name: fine, exact: true }).waitFor({ timeout: 40_000 });
    assert.match(await page.locator('[data-fresh-said]').innerText(), /is new|are new|has changed/);
    await quinn.axe();
    await quinn.close();

    const plain = await hall.open(390, { javaScript: false });
    await signIn(plain, 'quinn', passwords.quinn);
    await plain.go('/reports');
    assert.match(await plain.page.locator('main').innerText(), /as a cushion/);
    await plain.close();
  } finally {
    await hall.end();
  }
});
