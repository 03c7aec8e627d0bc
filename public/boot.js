// Starts the page: first the small module, with what somebody new needs up to a first sheet; the
// whole one once that stands, or at once where the address asks for more. When a task is opened
// that the small one does not have, it hands over what it holds and the whole one goes on.
import { keepOffline } from './offline.js';

const page = document.documentElement;

function lacking() {
  if (typeof WebAssembly !== 'object') return 'WebAssembly';
  if (typeof Worker !== 'function') return 'workers';
  return '';
}

function giveUp(why) {
  const loading = document.getElementById('loading');
  if (loading) loading.hidden = true;
  document.getElementById('too-old-why').textContent = `What failed: ${why}`;
  document.getElementById('too-old').hidden = false;
  // What is kept is not locked in here.
  import('./rescue.js')
    .then((rescue) => rescue.offerJobs(document.getElementById('too-old-jobs')))
    .catch((fault) => console.warn('Jobs could not be offered:', fault));
}

// What the small module answers; it asks for the whole one itself, should this be wrong.
const SMALL = /^#?\/?(quick|j\/[^/]+\/quick)?$/;

const WHOLE = './whole/samespot_app.js';

let whole;
let failed = 0;

/** The whole module. Tried anew after a failure, by an address of its own: a browser may remember
 * that one did not load and never ask for it again. */
function loadWhole() {
  whole ??= import(failed ? `${WHOLE}?again=${failed}` : WHOLE).then(async (module) => {
    await module.default();
    return module;
  });
  const tried = whole;
  tried.catch(() => {
    if (whole === tried) {
      whole = undefined;
      failed += 1;
    }
  });
  return whole;
}

// Files dropped on the page before anything could take them: the browser would leave the page and
// show the first.
const early = [];

function keep(event) {
  event.preventDefault();
  if (event.type === 'drop') early.push(...event.dataTransfer.files);
}

for (const kind of ['dragover', 'drop']) addEventListener(kind, keep);

function begin(module, handed) {
  // A size worked out wrong is worse than none.
  if (!module.computes_right()) throw new Error('sums whose answers are known come out wrong here');
  document.getElementById('loading')?.remove();
  module.start(handed);
  page.dataset.started = 'yes';
  for (const kind of ['dragover', 'drop']) removeEventListener(kind, keep);
  for (const file of early.splice(0)) {
    const dataTransfer = new DataTransfer();
    dataTransfer.items.add(file);
    dispatchEvent(new DragEvent('drop', { dataTransfer }));
  }
}

async function beginSmall() {
  const small = await import('./app/samespot_app.js');
  await small.default();
  const ours = new Set(document.body.childNodes);
  addEventListener('samespot-whole', async () => {
    page.dataset.whole = 'loading';
    let over = false;
    try {
      const module = await loadWhole();
      // Nothing where somebody went back meanwhile.
      const handed = small.hand_over();
      if (handed === undefined) return;
      over = true;
      const at = document.activeElement?.closest?.('a[href]')?.getAttribute('href');
      for (const node of [...document.body.childNodes]) {
        if (!ours.has(node) && node.nodeName !== 'IFRAME') node.remove();
      }
      begin(module, handed);
      if (at) document.querySelector(`header a[href="${CSS.escape(at)}"]`)?.focus();
      page.dataset.whole = 'yes';
    } catch (fault) {
      console.error(fault);
      page.dataset.whole = 'no';
      if (over) giveUp(String(fault));
      else small.not_loaded(String(fault));
    }
  });
  begin(small);
}

const lacks = lacking();
if (lacks) {
  giveUp(`${lacks} is missing`);
} else {
  try {
    if (SMALL.test(location.hash)) {
      await beginSmall();
    } else {
      begin(await loadWhole());
      page.dataset.whole = 'yes';
    }
  } catch (fault) {
    console.error(fault);
    giveUp(String(fault));
  }
}
await keepOffline();
// From the device by then, and there before it is asked for.
loadWhole().catch(() => {});
