// The page of what waits on this phone.
import { all, put, remove } from './queue.js';
import { send } from './app.js';

const box = document.getElementById('waiting'), words = box.dataset;
const list = box.querySelector('[data-list]'), say = box.querySelector('[data-say]');
const sendButton = document.getElementById('send'), signIn = document.getElementById('sign-in');
const person = document.querySelector('meta[name="person"]')?.content;
const names = {};

// Beds and threats in words, as far as they were kept.
const load = async (site) => {
  if (names[site]) return names[site];
  names[site] = { beds: {}, threats: {} };
  try {
    const r = await fetch(`/site/${encodeURIComponent(site)}/log/choices`);
    if (r.ok) {
      for (const b of (await r.json()).beds) {
        names[site].beds[b.value] = b.text;
        for (const t of b.threats) names[site].threats[t.value] = t.text;
      }
    }
  } catch { /* the ids stand in */ }
  return names[site];
};

const about = (e, n) => {
  const f = (k) => (e.fields[k] || [''])[0];
  const what = e.kind === 'look'
    ? `${n.threats[f('threat')] || f('threat')}: ${{ found: words.found, none: words.nothing, unsure: words.unsure }[f('finding')] || ''}`
    : `${words.treatment}: ${f('with').startsWith('-') ? f('product') || f('ingredient') || f('method') : f('with')}`;
  return `${what}. ${n.beds[f('planting')] || f('planting')}`;
};

const state = (e) => {
  if (person !== undefined && e.person !== person) return words.other;
  return { conflict: words.conflict + (e.text || ''), refused: words.refused + (e.text || '') }[e.state] || words.wait;
};

const button = (text, act) => {
  const b = Object.assign(document.createElement('button'), { type: 'button', className: 'button', textContent: text });
  b.addEventListener('click', act);
  return b;
};

const line = (tag, text, name = '') => Object.assign(document.createElement(tag), { textContent: text, className: name });

const renamed = async (e, more) => {
  const id = crypto.randomUUID();
  await put({ ...e, id, state: 'waiting', text: '', fields: { ...e.fields, id: [id], ...more } });
  await remove(e.id);
  await send();
};

const draw = async () => {
  const entries = await all();
  const rows = [];
  for (const e of entries) {
    const li = document.createElement('li'), text = line('div', '', 'about'), acts = line('div', '', 'acts');
    text.append(line('p', about(e, await load(e.site))), line('p', `${new Date(e.entered).toLocaleString(document.documentElement.lang === 'en' ? 'en-GB' : document.documentElement.lang, { dateStyle: 'medium', timeStyle: 'short' })}${e.photos.length ? `, ${words.photos}: ${e.photos.length}` : ''}`, 'soft'), line('p', state(e)));
    if (e.state === 'conflict') acts.append(button(words.new, () => renamed(e, { replaces: [] })), button(words.correct, () => renamed(e, { replaces: [e.id], why: [words.why] })));
    if (e.state === 'refused') acts.append(button(words.again, async () => { await put({ ...e, state: 'waiting' }); await send(); }));
    acts.append(button(words.away, async () => { if (confirm(words.sure)) { await remove(e.id); await draw(); await send(); } }));
    li.append(text, acts);
    rows.push(li);
  }
  list.replaceChildren(...rows);
  say.textContent = rows.length ? '' : words.none;
  sendButton.hidden = !entries.some((e) => e.state === 'waiting');
};

document.addEventListener('queue', async (e) => {
  await draw();
  signIn.hidden = e.detail !== 'sign-in' || !list.children.length;
  if (!signIn.hidden) say.textContent = words.signin;
});
sendButton.addEventListener('click', () => send(true));
await draw();
