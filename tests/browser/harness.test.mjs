// The checks themselves are checked: each is shown a page with the fault it is there for, and must find it.
import assert from 'node:assert/strict';
import { createServer } from 'node:http';
import { after, before, test } from 'node:test';
import { axeFindings, launchBrowser, openVisit } from './support.mjs';

const SOUND = '<!doctype html><html lang="en"><title>Packs</title><main><h1>Packs</h1><button>Hand out</button></main></html>';
const FAULTY = `<!doctype html><html lang="en"><title>Packs</title><main><h1>Packs</h1>
  <img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">
  <button style="width:10px;height:10px;padding:0;margin:0;border:0" aria-label="Hand out"></button><button
          style="width:10px;height:10px;padding:0;margin:0;border:0" aria-label="Take back"></button></main></html>`;
const BREAKS_POLICY = SOUND.replace('</main>', '<script>document.title = "written inline"</script></main>');

let browser;
let server;
let base;

before(async () => {
  browser = await launchBrowser();
  server = createServer((request, answer) => {
    const isStrict = request.url === '/breaks-policy';
    answer.setHeader('content-type', 'text/html; charset=utf-8');
    answer.setHeader('content-security-policy', "default-src 'none'; img-src data:");
    if (request.url === '/favicon.ico') return answer.writeHead(204).end();
    return answer.end(isStrict ? BREAKS_POLICY : SOUND);
  });
  await new Promise((ready) => server.listen(0, '127.0.0.1', ready));
  base = `http://127.0.0.1:${server.address().port}`;
});

after(async () => {
  await browser?.close();
  server?.closeAllConnections();
  server?.close();
});

test('axe finds a picture without words and a button too small to hit', async () => {
  const visit = await openVisit(browser, 390);
  await visit.page.setContent(FAULTY);
  const findings = await axeFindings(visit.page);
  assert.ok(findings.some((finding) => finding.startsWith('image-alt:')), findings.join('\n'));
  assert.ok(findings.some((finding) => finding.startsWith('target-size:')), findings.join('\n'));
  await assert.rejects(() => visit.axe(), /image-alt/);
  await assert.rejects(() => visit.bigTargets(), /too small to tap/);
  await visit.close();
});

test('a link that stands alone is measured, one inside a sentence only when it is named', async () => {
  const visit = await openVisit(browser, 390);
  const links = (words) => SOUND.replace('<button>Hand out</button>', `<p>${words}</p>`);
  await visit.page.setContent(links('<a href="/a">Designs</a> · <a href="/b">Register packs</a>'));
  await assert.rejects(() => visit.bigTargets(), /Designs[^]*Register packs/);
  await visit.page.setContent(links('The limits are <a href="/a">here</a>.'));
  await visit.bigTargets();
  await assert.rejects(() => visit.bigTargets('main a'), /too small to tap/);
  await visit.page.setContent(links('<a class="tap" href="/a">Open the night</a> and each loan is due when it ends.'));
  await assert.rejects(() => visit.bigTargets(), /Open the night/);
  await visit.close();
});

test('axe finds nothing on a sound page under a strict policy, light and dark', async () => {
  for (const colorScheme of ['light', 'dark']) {
    const visit = await openVisit(browser, 320, { base, colorScheme });
    await visit.go('/');
    await visit.axe();
    await visit.noSidewaysScroll();
    await visit.close();
  }
});

test('an inline script against the policy fails the visit', async () => {
  const visit = await openVisit(browser, 1280, { base });
  await visit.go('/breaks-policy');
  await visit.page.waitForTimeout(200);
  assert.ok(visit.complaints.some((complaint) => complaint.startsWith('policy: script-src')), visit.complaints.join('\n'));
  await assert.rejects(() => visit.close(), /the browser complained/);
});

test('a page wider than its window is found', async () => {
  const visit = await openVisit(browser, 320);
  await visit.page.setContent(SOUND.replace('<h1>', '<h1 style="width:500px">'));
  await assert.rejects(() => visit.noSidewaysScroll(), /500|5\d\d px wide/);
  await visit.close();
});

test('the Tab key reaches a button, and a focus that cannot be seen is found', async () => {
  const visit = await openVisit(browser, 1280);
  await visit.page.setContent(SOUND);
  await visit.tabTo('Hand out');
  await visit.page.setContent(SOUND.replace('<button', '<button style="outline:none"'));
  await assert.rejects(() => visit.tabTo('Hand out'), /can't be seen/);
  await visit.close();
});

test('with JavaScript off the page is shown and axe says that it cannot look', async () => {
  const visit = await openVisit(browser, 390, { base, javaScript: false });
  await visit.go('/');
  assert.equal(await visit.page.locator('h1').textContent(), 'Packs');
  await assert.rejects(() => visit.axe(), /JavaScript on/);
  await visit.close();
});
