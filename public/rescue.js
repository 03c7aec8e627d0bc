// Takes the jobs off a device whose browser cannot run the app (any more): read from the storage as
// they were kept and handed out as job files, without the core.

/** The version of job files that this writes; a test holds it to the core's. */
const FORMAT = 1;

const settled = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** The storage as it is, of whatever version; undefined where there is none. */
async function storage() {
  const request = indexedDB.open('samespot');
  let none = false;
  request.onupgradeneeded = () => {
    none = true;
    request.transaction.abort();
  };
  try {
    return await settled(request);
  } catch (fault) {
    if (none) return undefined;
    throw fault;
  }
}

async function all(database, store, range) {
  const of = database.transaction(store).objectStore(store);
  const [keys, values] = await Promise.all([settled(of.getAllKeys(range)), settled(of.getAll(range))]);
  return keys.map((key, n) => [key, values[n]]);
}

function titled(job, card) {
  try {
    return JSON.parse(card).title || job;
  } catch {
    return job;
  }
}

/** A fact as it is written; one that does not read any more as a text, which the core keeps beside. */
function written(fact) {
  try {
    JSON.parse(fact);
    return fact;
  } catch {
    return JSON.stringify(String(fact));
  }
}

async function jobFile(database, job) {
  // '0' follows '/' in every order of text.
  const range = IDBKeyRange.bound(`${job}/`, `${job}0`);
  const facts = (await all(database, 'facts', range)).map(([, fact]) => written(fact));
  const head = `"samespot":{"format":${FORMAT},"program":"rescued"}`;
  const json = `{${head},"job":${JSON.stringify(job)},"facts":[${facts.join(',')}]}`;
  const entries = [['job.json', new TextEncoder().encode(json)]];
  for (const [key, bytes] of await all(database, 'attachments', range)) {
    entries.push([`attachments/${key.slice(job.length + 1)}`, bytes]);
  }
  return zip(entries);
}

const TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let sum = n;
  for (let k = 0; k < 8; k += 1) sum = sum & 1 ? 0xedb88320 ^ (sum >>> 1) : sum >>> 1;
  return sum;
});

function crc32(bytes) {
  let sum = 0xffffffff;
  for (const byte of bytes) sum = TABLE[(sum ^ byte) & 0xff] ^ (sum >>> 8);
  return (sum ^ 0xffffffff) >>> 0;
}

/** A ZIP of entries that are stored as they are (APPNOTE 4.3). */
function zip(entries) {
  const parts = [];
  const list = [];
  let at = 0;
  const number = (bytes, value) =>
    Uint8Array.from({ length: bytes }, (_, n) => Math.floor(value / 2 ** (8 * n)) & 0xff);
  const put = (to, ...fields) => {
    for (const [bytes, value] of fields) to.push(number(bytes, value));
  };
  for (const [path, bytes] of entries) {
    const name = new TextEncoder().encode(path);
    // Version, flags, stored, midnight of 1980-01-01, checksum, sizes, length of the name.
    const common = [[2, 10], [2, 0], [2, 0], [2, 0], [2, 33], [4, crc32(bytes)], [4, bytes.length], [4, bytes.length], [2, name.length], [2, 0]];
    put(parts, [4, 0x04034b50], ...common);
    parts.push(name, bytes);
    put(list, [4, 0x02014b50], [2, 10], ...common, [2, 0], [2, 0], [2, 0], [4, 0], [4, at]);
    list.push(name);
    at += 30 + name.length + bytes.length;
  }
  const long = list.reduce((sum, part) => sum + part.length, 0);
  const end = [];
  const n = entries.length;
  put(end, [4, 0x06054b50], [2, 0], [2, 0], [2, n], [2, n], [4, long], [4, at], [2, 0]);
  return new Blob([...parts, ...list, ...end], { type: 'application/octet-stream' });
}

function save(name, blob) {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/** Offers each job on this device as a file, in `place`. */
export async function offerJobs(place) {
  const database = await storage();
  if (!database) return;
  const jobs = (await all(database, 'jobs')).map(([job, card]) => [job, titled(job, card)]);
  if (!jobs.length) return;
  const says = document.createElement('p');
  says.textContent =
    'The jobs on this device can be taken off it here, each as a file that any other Samespot opens:';
  place.replaceChildren(says);
  for (const [job, title] of jobs) {
    const key = document.createElement('button');
    key.type = 'button';
    key.className = 'key';
    key.textContent = `Save ‘${title}’`;
    key.onclick = async () => {
      try {
        const name = title.replace(/[^\p{L}\p{N} ._-]+/gu, ' ').trim() || 'job';
        save(`${name}.samespot`, await jobFile(database, job));
      } catch (fault) {
        says.textContent = `‘${title}’ could not be read back from this device (${fault}).`;
      }
    };
    place.append(key);
  }
}
