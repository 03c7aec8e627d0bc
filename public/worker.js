// Answers requests beside the page, so that the page stays quick.
//
//   in:  { id, to: 'first' | 'rest' | 'artwork' | 'scans', tells: boolean, request: string,
//          bytes?: Uint8Array }
//   out: for each request { id, reply }, what the module answered,
//        or { progress: string } before it, from what takes long,
//        or { id, fault: string, memory: boolean }, after which the module's memory is not to be
//        trusted: end this worker and start another. With `memory`, the device refused more of it.
import init, { answer as answerFirst, computes_right } from './first/samespot_desk.js';

let answer;
let first;
let rest;
let artwork;
let scans;

const NOTHING = new Uint8Array();

// What was told of jobs, with what stood beside it, for the module that takes over.
let told = [];

// Sums with known answers: a browser that gets them wrong is told, and nothing is worked out in it.
function demand(right) {
  if (!right) throw new Error('this browser gets sums wrong whose answers are known: use another one');
}

// What a first sheet needs, of jobs that are quick templates.
async function beginning() {
  first ??= init();
  await first;
  demand(computes_right());
  answer ??= answerFirst;
}

// Everything the core can answer. Once it is there the small module is done with: two desks
// would each know half of what was told.
function everything() {
  rest ??= import('./rest/samespot_desk.js').then(async (module) => {
    await module.default();
    demand(module.computes_right());
    for (const [request, bytes] of told) module.answer(request, bytes);
    told = undefined;
    answer = module.answer;
  });
  return rest;
}

// Large, and needed only by those who bring their own artwork.
async function readArtwork(request, bytes) {
  artwork ??= import('./artwork/samespot_artwork.js').then(async (module) => {
    await module.default();
    return module;
  });
  return (await artwork).answer(request, bytes);
}

// Scans as faces. It keeps the last scan it was given.
async function readScan(request, bytes) {
  scans ??= import('./scans/samespot_scans.js').then(async (module) => {
    await module.default();
    return module;
  });
  return (await scans).answer(request, bytes);
}

const modules = { artwork: readArtwork, scans: readScan };

async function replyTo({ to, tells, request, bytes }) {
  if (to in modules) return modules[to](request, bytes);
  await (to === 'rest' ? everything() : beginning());
  if (tells) told?.push([request, bytes ?? NOTHING]);
  return answer(request, bytes ?? NOTHING);
}

// Whether memory was refused. A module that panics throws its words, which is no trap; one whose
// memory does not grow traps without any; what is more than could ever be had is a panic too. What the
// browser itself has no room for it says in words.
function memoryRefused(fault) {
  const words = String(fault?.message ?? fault);
  if (fault instanceof WebAssembly.RuntimeError) return /unreachable|out of memory/i.test(words);
  return /out of memory|capacity overflow|could not allocate|allocation (failed|size overflow)|invalid (string|array buffer) length/i.test(words);
}

// Set before the first await: a request may come while the module is still loading.
self.onmessage = async ({ data }) => {
  try {
    const reply = await replyTo(data);
    // Handed on, not copied: a run is some forty megabytes.
    postMessage({ id: data.id, reply }, reply?.bytes ? [reply.bytes.buffer] : []);
  } catch (fault) {
    postMessage({ id: data.id, fault: String(fault), memory: memoryRefused(fault) });
  }
};

// A question that this side had no room to take in.
self.onmessageerror = () => postMessage({ fault: 'the question could not be taken in', memory: true });
