// Registers the service worker and says how far this device can do without a network.
//
// Told in two ways, for whoever draws the page:
//   <html data-offline="unknown | unavailable | saving | ready | incomplete" data-new-version="…">
//   and the event `samespot-offline` on window whenever one of them changes, with
//   detail { offline, newVersion, verified, of, damaged }.
// Dispatching `samespot-verify` on window asks again.

const page = document.documentElement;
const state = { offline: 'unknown', newVersion: '', verified: 0, of: 0, damaged: [] };

function tell(change) {
  Object.assign(state, change);
  page.dataset.offline = state.offline;
  if (state.newVersion) page.dataset.newVersion = state.newVersion;
  dispatchEvent(new CustomEvent('samespot-offline', { detail: { ...state } }));
}

function announce(build) {
  tell({ newVersion: build });
  document.getElementById('notice').textContent =
    'A new version is ready. To use it, close Samespot in every tab and window, then open it again';
}

function ask(worker, question) {
  return new Promise((resolve) => {
    const channel = new MessageChannel();
    channel.port1.onmessage = (message) => resolve(message.data);
    worker.postMessage({ ask: question }, [channel.port2]);
  });
}

async function verify(registration) {
  const answer = await ask(registration.active, 'are all files verified?');
  tell({
    offline: answer.damaged.length === 0 ? 'ready' : 'incomplete',
    verified: answer.verified,
    of: answer.of,
    damaged: answer.damaged,
  });
}

export async function keepOffline() {
  if (!('serviceWorker' in navigator)) {
    tell({ offline: 'unavailable' });
    return;
  }
  const workers = navigator.serviceWorker;
  workers.addEventListener('message', (message) => {
    if (message.data?.say === 'new version ready') announce(message.data.build);
  });
  try {
    tell({ offline: 'saving' });
    // Never from the HTTP cache: a stale list would hide a new version.
    const registration = await workers.register('sw.js', { updateViaCache: 'none' });
    const ready = await workers.ready;
    if (registration.waiting) {
      announce((await ask(registration.waiting, 'which build?')).build);
    }
    addEventListener('samespot-verify', () => verify(ready));
    await verify(ready);
  } catch (fault) {
    console.warn('Not kept for offline:', fault);
    tell({ offline: 'unavailable' });
  }
}
