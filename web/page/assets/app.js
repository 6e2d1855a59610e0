// On every page: the worker that keeps pages for later, and what waits on this
// phone, sent as soon as there is a connection.
import { all, put, remove } from './queue.js';

const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content;

const base64 = async (file) => {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let text = '';
  for (let i = 0; i < bytes.length; i += 0x8000) text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return btoa(text);
};

const show = async () => {
  const n = (await all()).length;
  let line = document.getElementById('unsent');
  if (!n) return line?.remove();
  if (!line) {
    line = document.createElement('a');
    line.id = 'unsent';
    line.href = '/waiting';
    line.className = 'unsent';
    document.querySelector('.top').append(line);
  }
  line.textContent = `${n} ${n === 1 ? meta('one-waits') : meta('many-wait')}`;
};

// One entry a request: what is wrong with one does not hold up the others.
const sendOne = async (e) => {
  const r = await fetch(`/site/${encodeURIComponent(e.site)}/log/entries`, {
    method: 'POST', headers: { 'Content-Type': 'application/json' }, redirect: 'manual',
    body: JSON.stringify({ entries: [{ kind: e.kind, entered: e.entered, person: e.person, fields: e.fields, photos: await Promise.all(e.photos.map(base64)) }] }),
  });
  if (r.status === 401) return 'sign-in';
  if (r.status >= 500) return 'later';
  if (!r.ok) {
    await put({ ...e, state: 'refused', text: `${r.status} ${r.statusText}` });
    return 'refused';
  }
  const [o] = (await r.json()).entries;
  if (o.state === 'saved' || o.state === 'known') {
    await remove(e.id);
  } else {
    await put({ ...e, state: o.state, text: o.text || (o.faults || []).map((f) => `${f.label}: ${f.text}`).join(' ') });
  }
  return o.state;
};

let sending = false;

// send sends what waits for the person who is signed in. again also sends what was
// refused before.
export const send = async (again = false) => {
  const person = meta('person');
  if (person === undefined) return document.dispatchEvent(new CustomEvent('queue', { detail: 'sign-in' }));
  if (sending) return;
  sending = true;
  let what = '';
  const work = async () => {
    for (const e of await all()) {
      if (e.person !== person || (e.state !== 'waiting' && !again) || e.state === 'conflict') continue;
      try {
        what = await sendOne(e);
      } catch {
        what = 'later';
      }
      if (what === 'sign-in' || what === 'later') break;
    }
  };
  try {
    // Another tab may be at it.
    await (navigator.locks ? navigator.locks.request('queue', work) : work());
  } finally {
    sending = false;
  }
  await show();
  document.dispatchEvent(new CustomEvent('queue', { detail: what }));
};

const start = async () => {
  if ('serviceWorker' in navigator) navigator.serviceWorker.register('/sw.js').catch(() => {});
  if (!('indexedDB' in window)) return;
  try {
    await show();
    if ((await all()).length) await send();
  } catch { /* a browser that keeps nothing: the forms still work */ }
};

addEventListener('online', () => send());
document.addEventListener('visibilitychange', () => document.visibilityState === 'visible' && start());
start();
