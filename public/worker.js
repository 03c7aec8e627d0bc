// Answers requests beside the page, so that the page stays quick.
//
//   in:  { id, to: 'core' | 'artwork' | 'scans', request: string, bytes?: Uint8Array }
//   out: { ready: true } once, then for each request { id, reply }, what the module answered,
//        or { id, fault: string }, after which the module's memory is not to be trusted:
//        end this worker and start another.
import init, { answer } from './app/samespot_app.js';

const ready = init();
let artwork;
let scans;

// The second module: large, and needed only by those who bring their own artwork.
async function readArtwork(request, bytes) {
  artwork ??= import('./artwork/samespot_artwork.js').then(async (module) => {
    await module.default();
    return module;
  });
  return (await artwork).answer(request, bytes);
}

// The third module: scans as faces. It keeps the last scan it was given.
async function readScan(request, bytes) {
  scans ??= import('./scans/samespot_scans.js').then(async (module) => {
    await module.default();
    return module;
  });
  return (await scans).answer(request, bytes);
}

const modules = { artwork: readArtwork, scans: readScan };

// Set before the first await: a request may come while the module is still loading.
self.onmessage = async ({ data: { id, to, request, bytes } }) => {
  try {
    await ready;
    const reply = to in modules ? await modules[to](request, bytes) : answer(request, bytes);
    postMessage({ id, reply });
  } catch (fault) {
    postMessage({ id, fault: String(fault) });
  }
};

ready.then(
  () => postMessage({ ready: true }),
  (fault) => postMessage({ fault: String(fault) }),
);
