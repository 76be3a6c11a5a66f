// A label's code on a phone: opened by a stranger, a member and a quartermaster, with and without JavaScript; and a hand-out of
// five packs by scanning only, without JavaScript and over plain http.
import assert from 'node:assert/strict';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';
import { demoPasswords, launchBrowser, openVisit, signIn, startHall } from './support.mjs';

/** Where the label of a pack leads, as its page tells a quartermaster. */
async function scanned(quinn, number) {
  await quinn.go(`/packs/${number}/label`);
  return quinn.page.getByRole('link', { name: 'What a scan of it shows' }).getAttribute('href');
}

async function look(visit, name) {
  await visit.shot(name);
  await visit.noSidewaysScroll();
  if (visit.javaScript) await visit.axe();
}

for (const javaScript of [true, false]) {
  const how = javaScript ? 'with JavaScript' : 'without JavaScript';
  const tag = javaScript ? '' : '-plain';

  test(`a stranger, a member and a quartermaster scan the same label (${how})`, async () => {
    const hall = await startHall({ demo: true });
    try {
      const passwords = demoPasswords(hall);
      const open = () => hall.open(390, { javaScript });
      const quinn = await open();
      await signIn(quinn, 'quinn', passwords.quinn);
      const address = await scanned(quinn, 'P-001');

      const stranger = await open();
      await stranger.go(address);
      await look(stranger, `scan-stranger${tag}`);
      const told = await stranger.page.locator('main').innerText();
      assert.match(told, /A pack of Millrace Robotics Club/);
      assert.match(told, /call the fire service/);
      assert.doesNotMatch(told, /P-001|Ant|LiPo|Tennant|Arkwright/);
      await stranger.page.getByRole('link', { name: 'Sign in' }).click();
      await stranger.page.getByLabel('Sign-in', { exact: true }).fill('mo');
      await stranger.page.getByLabel('Password', { exact: true }).fill(passwords.mo);
      await stranger.page.getByRole('button', { name: 'Sign in' }).click();
      assert.equal(new URL(stranger.page.url()).pathname, address, 'signing in leads back to what was scanned');
      await look(stranger, `scan-member${tag}`);
      assert.equal(await stranger.page.locator('h1').innerText(), 'P-001');
      await stranger.close();

      await quinn.go(address);
      await look(quinn, `scan-quartermaster${tag}`);
      await quinn.close();
    } finally {
      await hall.end();
    }
  });

  test(`five packs are handed out by scanning only (${how})`, async () => {
    const hall = await startHall({ demo: true });
    try {
      const passwords = demoPasswords(hall);
      const quinn = await hall.open(390, { javaScript });
      await signIn(quinn, 'quinn', passwords.quinn);
      // What is on the open round and was not read there is not handed out.
      await quinn.go('/storage-rounds');
      await quinn.page.locator('main a[href^="/storage-rounds/0"]').first().click();
      await quinn.page.waitForURL('**/storage-rounds/0*');
      const onRound = await quinn.page.locator('tbody th a').allInnerTexts();
      const numbers = [];
      for (const state of ['fit', 'caution']) {
        await quinn.go(`/packs?state=${state}`);
        numbers.push(...await quinn.page.locator('tbody tr:not(:has-text("out:")) th a').allInnerTexts());
      }
      const labels = [];
      for (const number of numbers.filter((each) => !onRound.includes(each))) {
        await quinn.go(`/packs/${number}/label`);
        const link = quinn.page.getByRole('link', { name: 'What a scan of it shows' });
        if (await link.count()) labels.push(await link.getAttribute('href'));
      }
      assert.ok(labels.length >= 5, `the demo has five packs with labels that may go out: ${labels.length}`);

      await quinn.go('/hand-out');
      await quinn.page.getByLabel('To whom').selectOption({ label: 'Mo Tennant' });
      await quinn.page.getByRole('button', { name: 'Gather by scanning' }).click();
      await look(quinn, `gather-empty${tag}`);
      for (const address of labels.slice(0, 5)) {
        // The phone's own camera app opens each in a tab of its own.
        const tab = await quinn.context.newPage();
        await tab.goto(address);
        await tab.getByRole('button', { name: "Add to Mo Tennant's hand-out" }).click();
        await tab.waitForURL('**/gather');
        await tab.locator('.gathered').waitFor();
        await tab.close();
      }
      await quinn.go('/gather');
      await look(quinn, `gather-full${tag}`);
      assert.equal(await quinn.page.locator('.gathered li').count(), 5);
      await quinn.page.getByRole('button', { name: 'Go on to hand out' }).click();
      assert.equal(await quinn.page.getByLabel('To whom').locator('option:checked').innerText(), 'Mo Tennant');
      await quinn.page.locator('button.main').click();
      assert.match(await quinn.page.locator('main').innerText(), /Mo Tennant/);
      assert.match(new URL(quinn.page.url()).pathname, /^\/loans\//);
      await quinn.close();
    } finally {
      await hall.end();
    }
  });
}

test('a scanner that types ends each line with Enter: the list grows and nothing goes out', async () => {
  const hall = await startHall({ demo: true });
  try {
    const quinn = await hall.open(1280);
    await signIn(quinn, 'quinn', demoPasswords(hall).quinn);
    const addresses = [];
    for (const number of ['P-001', 'P-002']) addresses.push(`${hall.base}${await scanned(quinn, number)}`);
    await quinn.go('/hand-out');
    await quinn.page.getByLabel('To whom').selectOption({ label: 'Mo Tennant' });
    await quinn.page.getByLabel('What', { exact: true }).pressSequentially(addresses[0]);
    await quinn.page.keyboard.press('Enter');
    await quinn.page.waitForURL('**/gather');
    assert.equal(await quinn.page.evaluate(() => document.activeElement.id), 'f-add', 'the next one is typed right away');
    await quinn.page.keyboard.type(addresses[1]);
    await quinn.page.keyboard.press('Enter');
    await quinn.page.waitForFunction(() => document.querySelectorAll('.gathered li').length === 2);
    await quinn.close();
  } finally {
    await hall.end();
  }
});

/** What a camera sees that looks at this label: a film of one picture, in grey (YUV4MPEG2). */
async function film(visit, number) {
  const grey = await visit.page.evaluate(async (address) => {
    const picture = new Image();
    picture.src = address;
    await picture.decode();
    const canvas = new OffscreenCanvas(640, 480);
    const pen = canvas.getContext('2d');
    pen.fillStyle = '#ddd';
    pen.fillRect(0, 0, 640, 480);
    pen.drawImage(picture, 40, 130, 560, 230);
    const { data } = pen.getImageData(0, 0, 640, 480);
    return Array.from({ length: 640 * 480 }, (_, dot) => data[dot * 4]);
  }, `/packs/${number}/label.svg`);
  const head = Buffer.from('YUV4MPEG2 W640 H480 F10:1 Ip A1:1 C420jpeg\n');
  const frame = Buffer.concat([Buffer.from('FRAME\n'), Buffer.from(grey), Buffer.alloc(2 * 320 * 240, 128)]);
  return Buffer.concat([head, frame, frame]);
}

test('the camera inside the page adds the label before it', async () => {
  const hall = await startHall({ demo: true });
  const folder = await mkdtemp(join(tmpdir(), 'sandbucket-film-'));
  const camera = join(folder, 'label.y4m');
  const browser = await launchBrowser(['--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream', `--use-file-for-fake-video-capture=${camera}`]);
  try {
    const quinn = await openVisit(browser, 390, { base: hall.base });
    await signIn(quinn, 'quinn', demoPasswords(hall).quinn);
    await writeFile(camera, await film(quinn, 'P-003'));
    await quinn.go('/take-back');
    await quinn.page.getByRole('button', { name: 'Gather by scanning' }).click();
    await quinn.page.getByRole('button', { name: 'Scan with the camera' }).click();
    await quinn.page.locator('.gathered li').waitFor();
    await quinn.page.getByText('Added. 1 thing on the list.').waitFor();
    assert.equal(await quinn.page.locator('.gathered .n').innerText(), 'P-003');
    await look(quinn, 'gather-camera');
    await quinn.page.getByRole('button', { name: 'Stop the camera' }).click();
    await quinn.page.getByRole('button', { name: 'Leave out P-003' }).click();
    assert.match(await quinn.page.locator('main').innerText(), /Nothing yet/);
    await quinn.close();
  } finally {
    await browser.close();
    await rm(folder, { recursive: true, force: true });
    await hall.end();
  }
});

/** A picture of 400 by 300 points, drawn by the browser: a screenshot may fail where the machine is busy. */
async function drawn(page) {
  const url = await page.evaluate(() => {
    const canvas = Object.assign(document.createElement('canvas'), { width: 400, height: 300 });
    canvas.getContext('2d').fillRect(100, 100, 200, 100);
    return canvas.toDataURL('image/png');
  });
  return Buffer.from(url.split(',')[1], 'base64');
}

for (const javaScript of [true, false]) {
  test(`a member adds a photo of a pack and takes it away again (${javaScript ? 'with' : 'without'} JavaScript)`, async () => {
    const hall = await startHall({ demo: true });
    try {
      const mo = await hall.open(390, { javaScript });
      await signIn(mo, 'mo', demoPasswords(hall).mo);
      const picture = { name: 'pack.png', mimeType: 'image/png', buffer: await drawn(mo.page) };
      await mo.go('/packs/P-003/photos');
      await look(mo, `photos-none${javaScript ? '' : '-plain'}`);
      await mo.page.getByLabel('Photo', { exact: true }).setInputFiles({ ...picture, buffer: Buffer.from('no picture') });
      await mo.page.getByRole('button', { name: 'Add the photo' }).click();
      assert.match(await mo.page.locator('.wrong').innerText(), /no photo that can be read/);
      await mo.page.getByLabel('Photo', { exact: true }).setInputFiles(picture);
      await mo.page.getByRole('button', { name: 'Add the photo' }).click();
      const shown = mo.page.locator('.photos img');
      await shown.waitFor();
      assert.ok(await shown.evaluate((image) => image.decode().then(() => image.naturalWidth > 100)), 'the picture is there');
      await look(mo, `photos-one${javaScript ? '' : '-plain'}`);
      await mo.page.getByRole('link', { name: 'Remove this photo' }).click();
      await look(mo, `photos-remove${javaScript ? '' : '-plain'}`);
      await mo.page.getByRole('button', { name: 'Remove this photo for good' }).click();
      assert.match(await mo.page.locator('main').innerText(), /No photo of it yet/);
      await mo.close();
    } finally {
      await hall.end();
    }
  });
}
