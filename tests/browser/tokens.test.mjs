// A token for a program: made without JavaScript, shown once, used, ended; and its pages and the one about the API at every width.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { demoPasswords, signIn, startHall } from './support.mjs';

let hall;

before(async () => {
  hall = await startHall({ demo: true });
});

after(() => hall?.end());

async function signedIn(width, how) {
  const visit = await hall.open(width, how);
  await signIn(visit, 'quinn', demoPasswords(hall).quinn);
  await visit.page.waitForURL('**/to-see-to');
  return visit;
}

const asProgram = (secret) => fetch(`${hall.base}/api/v1/packs`, { headers: { authorization: `Bearer ${secret}` } });

test('a token is made, shown once, used and ended without JavaScript', async () => {
  const visit = await signedIn(390, { javaScript: false });
  const { page } = visit;
  await visit.go('/me');
  await page.getByRole('link', { name: 'Tokens for programs' }).click();
  await page.getByRole('button', { name: 'Make the token' }).click();
  assert.equal(await page.locator('#problems li').count(), 3, 'nothing is preselected');
  await page.getByLabel('What is it for?').fill('shelf display');
  await page.getByLabel('Look only').check();
  await page.getByLabel('30 days').check();
  await page.getByRole('button', { name: 'Make the token' }).click();
  const secret = await page.locator('main code').innerText();
  assert.equal((await asProgram(secret)).status, 200);
  await page.getByRole('link', { name: 'I have copied it' }).click();
  assert.ok(!(await page.content()).includes(secret));
  await page.getByRole('button', { name: /^End/ }).click();
  assert.equal((await asProgram(secret)).status, 401);
  await visit.close();
});

test('its pages look well and read well at every width', async () => {
  for (const colorScheme of ['light', 'dark']) {
    for (const width of [320, 390, 1280]) {
      const visit = await signedIn(width, { colorScheme });
      const look = async () => {
        await visit.axe();
        await visit.noSidewaysScroll();
      };
      await visit.go('/api');
      await look();
      await visit.go('/me/tokens');
      await look();
      await visit.page.getByRole('button', { name: 'Make the token' }).click();
      await look();
      await visit.page.getByLabel('What is it for?').fill(`a display of ${width}`);
      await visit.page.getByLabel('Look only').check();
      await visit.page.getByLabel('7 days').check();
      await visit.page.getByRole('button', { name: 'Make the token' }).click();
      await look();
      await visit.page.getByRole('link', { name: 'I have copied it' }).click();
      await look();
      await visit.close();
    }
  }
});
