// The incident book as a third reader writes it: canonical form, chain, zip; and ways to tamper with it. For tests alone.
import { createHash, randomBytes } from 'node:crypto';
import { crc32, deflateRawSync, inflateRawSync } from 'node:zlib';

export const digest = (data) => createHash('sha256').update(data).digest('hex');

/** RFC 8785, of what the book holds. */
export function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (value !== null && typeof value === 'object') {
    return `{${Object.keys(value).sort().map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`).join(',')}}`;
  }
  return JSON.stringify(value);
}

/** SplitMix32: seeded, so that a failure can be thrown again. */
export function diceOf(seed) {
  let state = seed >>> 0;
  return (sides) => {
    state = (state + 0x9e3779b9) >>> 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
    z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
    return ((z ^ (z >>> 16)) >>> 0) % sides;
  };
}

export function unzip(bytes) {
  const end = bytes.length - 22;
  const files = new Map();
  let at = bytes.readUInt32LE(end + 16);
  for (let count = bytes.readUInt16LE(end + 10); count > 0; count -= 1) {
    const [way, named] = [bytes.readUInt16LE(at + 10), bytes.readUInt16LE(at + 28)];
    const [packed, local] = [bytes.readUInt32LE(at + 20), bytes.readUInt32LE(at + 42)];
    const from = local + 30 + bytes.readUInt16LE(local + 26) + bytes.readUInt16LE(local + 28);
    const raw = bytes.subarray(from, from + packed);
    files.set(bytes.toString('utf8', at + 46, at + 46 + named), way === 8 ? inflateRawSync(raw) : raw);
    at += 46 + named + bytes.readUInt16LE(at + 30) + bytes.readUInt16LE(at + 32);
  }
  return files;
}

/** Every second file stored as it is, the others deflated. */
export function zip(files) {
  const [out, directory] = [[], []];
  let at = 0;
  [...files].forEach(([name, data], place) => {
    const bytes = Buffer.from(data);
    const way = place % 2 === 0 ? 8 : 0;
    const packed = way === 8 ? deflateRawSync(bytes) : bytes;
    const about = Buffer.alloc(26);
    [20, 0x800, way, 0, 0x21].forEach((field, i) => about.writeUInt16LE(field, 2 * i));
    [crc32(bytes), packed.length, bytes.length].forEach((field, i) => about.writeUInt32LE(field, 10 + 4 * i));
    about.writeUInt16LE(Buffer.byteLength(name), 22);
    const local = Buffer.concat([Buffer.from('PK\u0003\u0004'), about, Buffer.from(name), packed]);
    const tail = Buffer.alloc(14);
    tail.writeUInt32LE(at, 10);
    directory.push(Buffer.from('PK\u0001\u0002\u0014\u0000'), about, tail, Buffer.from(name));
    out.push(local);
    at += local.length;
  });
  const list = Buffer.concat(directory);
  const end = Buffer.alloc(22);
  end.write('PK\u0005\u0006');
  [files.size, files.size].forEach((field, i) => end.writeUInt16LE(field, 8 + 2 * i));
  end.writeUInt32LE(list.length, 12);
  end.writeUInt32LE(at, 16);
  return Buffer.concat([...out, list, end]);
}

/** A book that can be written on and tampered with: { book, files }. */
export class Copied {
  constructor(book, files) { this.book = book; this.files = files; }

  static read(bytes) {
    const members = unzip(bytes);
    const files = new Map([...members].filter(([name]) => name.startsWith('files/')));
    return new Copied(JSON.parse(members.get('book.json')), files);
  }

  copy() { return new Copied(structuredClone(this.book), new Map(this.files)); }

  text() { return canonical(this.book); }

  packed() { return zip(new Map([['README.txt', 'a note'], ['book.json', this.text()], ...this.files])); }

  get head() { return this.book.head; }

  write(entry, parts = []) {
    const { head } = this.book;
    const whole = { format: 1, seq: head.count + 1, at_ms: head.at_ms + 61_000, attached: [], previous: head.hash, ...entry };
    whole.committed = parts.map((part) => ({ part: part.name, sha256: digest(canonical(part)) }));
    const text = canonical(whole);
    this.book.entries.push({ hash: digest(text), text });
    this.book.parts.push(...parts.map((part) => ({ part, seq: whole.seq })));
    this.book.head = { at_ms: whole.at_ms, count: whole.seq, hash: digest(text) };
  }

  /** Lines with people, photos and an erasure behind what is there. */
  writeOn(dice) {
    for (let line = 0; line < 3 + dice(4); line += 1) {
      const parts = dice(3) > 0 ? [{ name: 'who_was_there', salt: randomBytes(16).toString('hex'), words: 'Ada and Mo' }] : [];
      const entry = { kind: 'timeline', body: { incident: 'I-001', words: ['It smoked \u{1F525}.', 'Sand\nwas "put" on it.', 'Cold\u0007.', ''][dice(4)], number: line } };
      if (dice(2) === 0) {
        const photo = Buffer.from(`photo ${this.head.count}`);
        this.files.set(`files/${digest(photo)}.jpg`, photo);
        entry.attached = [{ name: 'photo', sha256: digest(photo), original_sha256: dice(2) === 0 ? digest('as sent') : null }];
      }
      this.write(entry, parts);
    }
    const [gone] = this.book.parts.splice(dice(this.book.parts.length), 1);
    if (gone) this.write({ kind: 'erased', body: { erased: [{ what: 'part', seq: gone.seq, name: gone.part.name }], why: 'They asked for it.' } });
  }

  rehash(place) { this.book.entries[place].hash = digest(this.book.entries[place].text); }

  edit(place, dice) {
    const signs = [...this.book.entries[place].text];
    const at = dice(signs.length);
    signs[at] = signs[at] === '7' ? '8' : '7';
    this.book.entries[place].text = signs.join('');
  }

  cutOff(place) {
    this.book.entries.length = place;
    const last = this.book.entries.at(-1);
    const entry = last && JSON.parse(last.text);
    this.book.head = entry ? { at_ms: entry.at_ms, count: entry.seq, hash: last.hash } : { at_ms: 0, count: 0, hash: '0'.repeat(64) };
    this.book.parts = this.book.parts.filter((part) => part.seq <= this.head.count);
    const left = this.book.entries.map((kept) => kept.text).join('');
    for (const name of this.files.keys()) if (!left.includes(name.slice(6, 70))) this.files.delete(name);
  }

  rewriteFrom(place) {
    let previous = place === 0 ? '0'.repeat(64) : this.book.entries[place - 1].hash;
    for (let at = place; at < this.book.entries.length; at += 1) {
      const entry = JSON.parse(this.book.entries[at].text);
      entry.previous = previous;
      if (at === place) entry.at_ms += 1;
      const text = canonical(entry);
      previous = digest(text);
      this.book.entries[at] = { hash: previous, text };
      this.book.head = { at_ms: entry.at_ms, count: entry.seq, hash: previous };
    }
  }
}

const filesOf = (copy) => [...copy.files.keys()];
const partsOf = (copy) => copy.book.parts;

/** Each takes a copy and dice, and gives back false where there is nothing of the kind to tamper with. */
export const TAMPERINGS = {
  'a sign edited': (copy, dice) => copy.edit(dice(copy.book.entries.length), dice),
  'a sign edited and the seal with it': (copy, dice) => { const place = dice(copy.book.entries.length); copy.edit(place, dice); copy.rehash(place); },
  'an entry written in another form': (copy, dice) => { const place = dice(copy.book.entries.length); const kept = copy.book.entries[place]; kept.text = kept.text.replace(':', ': '); copy.rehash(place); },
  'an entry deleted': (copy, dice) => { copy.book.entries.splice(dice(copy.book.entries.length), 1); },
  'an entry copied in': (copy, dice) => { copy.book.entries.splice(dice(copy.book.entries.length + 1), 0, copy.book.entries[dice(copy.book.entries.length)]); },
  'two entries swapped': (copy, dice) => {
    const { entries } = copy.book;
    const [one, other] = [dice(entries.length), dice(entries.length)];
    [entries[one], entries[other]] = [entries[other], entries[one]];
    return one !== other;
  },
  'the end cut off': (copy, dice) => { copy.book.entries.length = dice(copy.book.entries.length); },
  'the end cut off with the head': (copy, dice) => copy.cutOff(dice(copy.book.entries.length)),
  'the whole rewritten': (copy) => copy.rewriteFrom(0),
  'rewritten from an entry on': (copy, dice) => copy.rewriteFrom(dice(copy.book.entries.length)),
  'a part lost': (copy, dice) => partsOf(copy).length > 0 && partsOf(copy).splice(dice(partsOf(copy).length), 1).length > 0,
  'a part edited': (copy, dice) => { if (partsOf(copy).length === 0) return false; partsOf(copy)[dice(partsOf(copy).length)].part.words += 'x'; return true; },
  'a salt edited': (copy, dice) => { if (partsOf(copy).length === 0) return false; partsOf(copy)[dice(partsOf(copy).length)].part.salt = '00'; return true; },
  'a part added': (copy, dice) => { partsOf(copy).push({ part: { name: 'who_was_there', salt: '00', words: 'Somebody' }, seq: 1 + dice(copy.head.count + 2) }); },
  'a photo lost': (copy, dice) => { const names = filesOf(copy); return names.length > 0 && copy.files.delete(names[dice(names.length)]); },
  'a photo altered': (copy, dice) => {
    const names = filesOf(copy);
    if (names.length === 0) return false;
    const name = names[dice(names.length)];
    const bytes = Buffer.from(copy.files.get(name));
    bytes[dice(bytes.length)] ^= 1;
    copy.files.set(name, bytes);
    return true;
  },
  'two photos swapped': (copy, dice) => {
    const names = filesOf(copy);
    if (names.length < 2) return false;
    const [one, other] = [names[dice(names.length)], names[dice(names.length)]];
    const bytes = copy.files.get(one);
    copy.files.set(one, copy.files.get(other));
    copy.files.set(other, bytes);
    return one !== other;
  },
  'a photo renamed': (copy, dice) => {
    const names = filesOf(copy);
    if (names.length === 0) return false;
    const name = names[dice(names.length)];
    copy.files.set(name.replace(/jpg$/, ['html', 'pdf', 'JPG'][dice(3)]), copy.files.get(name));
    return copy.files.delete(name);
  },
  'a file added beside the photos': (copy, dice) => { copy.files.set(['note.txt', 'photo.jpg', 'other/book.json'][dice(3)], Buffer.from('look here')); },
  'a photo added': (copy) => { copy.files.set('files/forged.jpg', Buffer.from('forged')); },
  'the head edited': (copy) => { copy.book.head.at_ms += 1; },
  'a member added': (copy) => { copy.book.note = 'looked over'; },
};
