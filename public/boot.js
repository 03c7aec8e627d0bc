// Starts the page. The worker loads the same module and starts nothing.
import init, { start } from './app/samespot_app.js';
import { keepOffline } from './offline.js';

function lacking() {
  if (typeof WebAssembly !== 'object') return 'WebAssembly';
  if (typeof Worker !== 'function') return 'workers';
  return '';
}

function giveUp(why) {
  document.getElementById('loading').hidden = true;
  document.getElementById('too-old-why').textContent = `What failed: ${why}`;
  document.getElementById('too-old').hidden = false;
}

const lacks = lacking();
if (lacks) {
  giveUp(`${lacks} is missing`);
} else {
  try {
    await init();
    document.getElementById('loading').remove();
    start();
    document.documentElement.dataset.started = 'yes';
  } catch (fault) {
    console.error(fault);
    giveUp(String(fault));
  }
}
await keepOffline();
