// A phone asks to be reminded, at 390 px. There is no push service here: what the browser would be given by one is made by the test, and
// what one would hand over is handed to the page's worker through the debugging protocol. The rest is the real thing.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { demoPasswords, signIn, startHall } from './support.mjs';

/** RFC 8291, 5: the example's own keys. */
const GIVEN = {
  endpoint: 'https://push.example/send/mo',
  keys: { p256dh: 'BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4', auth: 'BTBZMqHH6r4Tts7J_aSIgg' },
};

test('a phone asks, shows what is pushed to it, and is told to stop', { timeout: 120_000 }, async () => {
  const hall = await startHall({ demo: true });
  try {
    const visit = await hall.open(390);
    const { page } = visit;
    await page.addInitScript((given) => {
      PushManager.prototype.subscribe = async (how) => {
        sessionStorage.setItem('asked', JSON.stringify(how));
        return { toJSON: () => given };
      };
    }, GIVEN);
    await signIn(visit, 'mo', demoPasswords(hall).mo);
    await visit.go('/me/reminders');
    const ask = page.getByRole('button', { name: 'Remind me on this phone' });
    await ask.waitFor();
    await visit.axe();
    await visit.noSidewaysScroll();
    await visit.shot('phone-asks');
    await page.context().grantPermissions(['notifications'], { origin: hall.base });
    await ask.click();
    await page.getByText('This phone is reminded from now on.').waitFor();
    const asked = JSON.parse(await page.evaluate(() => sessionStorage.getItem('asked')));
    assert.equal(asked.userVisibleOnly, true);
    assert.equal(Buffer.from(asked.applicationServerKey, 'base64url').length, 65, 'the server\'s public key');
    assert.equal(await ask.count(), 0, 'it asked already');
    assert.equal(await page.getByLabel('On your phone', { exact: false }).count() > 0, true, 'kinds are offered');
    await visit.axe();
    await visit.noSidewaysScroll();
    await visit.shot('phone-asked');

    const protocol = await page.context().newCDPSession(page);
    const registered = new Promise((found) => {
      protocol.on('ServiceWorker.workerRegistrationUpdated', ({ registrations }) => registrations.length > 0 && found(registrations[0].registrationId));
    });
    await protocol.send('ServiceWorker.enable');
    const data = JSON.stringify({ title: 'Millrace Robotics Club', body: 'Loan overdue: 1.', href: '/mine', tag: 'one' });
    const message = { origin: hall.base, registrationId: await registered, data };
    await protocol.send('ServiceWorker.deliverPushMessage', message);
    await protocol.send('ServiceWorker.deliverPushMessage', message);
    const shown = () => page.evaluate(async () => {
      const all = await (await navigator.serviceWorker.ready).getNotifications();
      return all.map(({ title, body, tag }) => [title, body, tag]);
    });
    for (let tries = 0; (await shown()).length === 0 && tries < 50; tries += 1) await page.waitForTimeout(100);
    assert.deepEqual(await shown(), [['Millrace Robotics Club', 'Loan overdue: 1.', 'one']], 'sent twice, seen once');

    const [worker] = page.context().serviceWorkers();
    const told = await worker.evaluate(async (given) => {
      // The worker leaves the redirect; followed, it tells where it leads.
      const plainly = self.fetch;
      let answer;
      self.fetch = async (address, how) => (answer = await plainly(address, { ...how, redirect: 'follow' }));
      const event = new ExtendableEvent('pushsubscriptionchange');
      let work;
      event.waitUntil = (promise) => { work = promise; };
      event.newSubscription = { toJSON: () => given };
      self.dispatchEvent(event);
      await work;
      self.fetch = plainly;
      return [answer.status, answer.redirected, new URL(answer.url).pathname];
    }, { ...GIVEN, endpoint: 'https://push.example/send/moved' });
    assert.deepEqual(told, [200, true, '/me/reminders'], 'taken, and led on to the page');

    await page.getByRole('button', { name: /^End ?: reminders on/ }).click();
    await page.getByText('That phone is not reminded any more.').waitFor();
    await visit.close();

    const plain = await hall.open(320, { javaScript: false });
    await signIn(plain, 'mo', demoPasswords(hall).mo);
    await plain.go('/me/reminders');
    assert.match(await plain.page.locator('main').innerText(), /Asking for it needs JavaScript/);
    assert.equal(await plain.page.getByRole('button', { name: 'Remind me on this phone' }).isVisible(), false);
    await plain.noSidewaysScroll();
    await plain.close();
  } finally {
    await hall.end();
  }
});
