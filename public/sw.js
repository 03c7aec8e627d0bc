// Keeps one whole build on the device, verified file by file, and serves it with or without a
// network. A new build waits beside the old one until no page of the old one is open: a page
// never gets files of two builds.

/** { build, files: [{ path, sha256, size }] } */
const LIST = '@LIST@';
const POLICY = "@POLICY@";

const PREFIX = 'samespot-';
const CACHE = PREFIX + LIST.build;
const PAGE = 'index.html';

const KINDS = {
  html: 'text/html; charset=utf-8',
  js: 'text/javascript; charset=utf-8',
  css: 'text/css; charset=utf-8',
  wasm: 'application/wasm',
  json: 'application/json',
  webmanifest: 'application/manifest+json',
  svg: 'image/svg+xml',
  png: 'image/png',
  woff2: 'font/woff2',
  txt: 'text/plain; charset=utf-8',
};

const address = (path) => new URL(path, registration.scope).href;

async function isTrue(bytes, file) {
  if (bytes.byteLength !== file.size) return false;
  const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  const text = Array.from(hash, (byte) => byte.toString(16).padStart(2, '0')).join('');
  return text === file.sha256;
}

function response(bytes, path) {
  const kind = KINDS[path.slice(path.lastIndexOf('.') + 1)] ?? 'application/octet-stream';
  // A worker obeys the policy of its own response, not the page's.
  return new Response(bytes, {
    headers: { 'Content-Type': kind, 'Content-Security-Policy': POLICY },
  });
}

/** The file's bytes if some build on this device already has them. */
async function fromOlderBuild(file) {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PREFIX)) continue;
    const held = await (await caches.open(name)).match(address(file.path));
    const bytes = await held?.arrayBuffer();
    if (bytes && (await isTrue(bytes, file))) return bytes;
  }
  return undefined;
}

/** What the page has just loaded is not loaded again; what the browser held and is not true, is. */
async function fetched(file) {
  for (const cache of ['default', 'reload']) {
    const answer = await fetch(address(file.path), { cache, credentials: 'same-origin' });
    if (!answer.ok) throw new Error(`${file.path}: the server answered ${answer.status}`);
    const bytes = await answer.arrayBuffer();
    if (await isTrue(bytes, file)) return bytes;
  }
  throw new Error(`${file.path} is not the file of build ${LIST.build}`);
}

async function keep(file) {
  const bytes = (await fromOlderBuild(file)) ?? (await fetched(file));
  await (await caches.open(CACHE)).put(address(file.path), response(bytes, file.path));
}

async function tellPages(message) {
  for (const page of await clients.matchAll({ type: 'window', includeUncontrolled: true })) {
    page.postMessage(message);
  }
}

async function install() {
  await Promise.all(LIST.files.map(keep));
  // The first build has nothing to replace. A later one says so, and waits.
  if (registration.active) await tellPages({ say: 'new version ready', build: LIST.build });
}

async function activate() {
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== CACHE) await caches.delete(name);
  }
  await clients.claim();
}

/** Reads every file back and hashes it; fetches again what is gone or damaged. */
async function verify() {
  const cache = await caches.open(CACHE);
  const damaged = [];
  for (const file of LIST.files) {
    const held = await cache.match(address(file.path));
    if (held && (await isTrue(await held.arrayBuffer(), file))) continue;
    try {
      await keep(file);
    } catch {
      damaged.push(file.path);
    }
  }
  const of = LIST.files.length;
  return { build: LIST.build, of, verified: of - damaged.length, damaged };
}

async function serve(request, url) {
  const path = url.pathname.slice(new URL(registration.scope).pathname.length);
  if (path === 'assets.json') return response(JSON.stringify(LIST), path);
  const isPage = request.mode === 'navigate' && (path === '' || path === PAGE);
  const held = await (await caches.open(CACHE)).match(address(isPage ? PAGE : path));
  return held ?? fetch(request);
}

addEventListener('install', (event) => event.waitUntil(install()));
addEventListener('activate', (event) => event.waitUntil(activate()));

addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin) {
    event.respondWith(Response.error());
  } else if (event.request.method === 'GET') {
    event.respondWith(serve(event.request, url));
  }
});

addEventListener('message', (event) => {
  const [port] = event.ports;
  if (event.data?.ask === 'which build?') port.postMessage({ build: LIST.build });
  if (event.data?.ask === 'are all files verified?') {
    event.waitUntil(verify().then((answer) => port.postMessage(answer)));
  }
});
