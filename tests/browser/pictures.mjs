// Makes the README's two pictures from the demo club: node tests/browser/pictures.mjs, after cargo build.
import { mkdir } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { startHall } from './support.mjs';

const folder = fileURLToPath(new URL('./pictures', import.meta.url));
await mkdir(folder, { recursive: true });
const hall = await startHall({ demo: true });
const password = hall.demoOutput.match(/ quinn\s+(\S+)/)[1];
for (const [width, height, address, name] of [[1100, 1000, '/packs', 'packs'], [390, 844, '/packs/P-008', 'pack']]) {
  const visit = await hall.open(width);
  await visit.go('/sign-in');
  await visit.page.getByLabel('Sign-in', { exact: true }).fill('quinn');
  await visit.page.getByLabel('Password', { exact: true }).fill(password);
  await visit.page.getByRole('button', { name: 'Sign in' }).click();
  await visit.page.setViewportSize({ width, height });
  await visit.go(address);
  await visit.page.screenshot({ path: `${folder}/${name}.png` });
  await visit.close();
}
await hall.end();
