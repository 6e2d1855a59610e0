// The log's forms: the bed changes without a page, photos shrink before they are
// kept, and each form is sent under a name of its own.

const form = document.querySelector('form.entry');
const bed = document.getElementById('bed');
const most = 1600;

if (form) {
  // A page that was kept for later has the name of an entry that was sent.
  if (!form.elements.replaces) form.elements.id.value = crypto.randomUUID();
  form.addEventListener('submit', () => setTimeout(() => form.querySelectorAll('button').forEach((b) => { b.disabled = true; })));
  addEventListener('pageshow', (e) => {
    if (!e.persisted) return;
    form.querySelectorAll('button:not([hidden])').forEach((b) => { b.disabled = false; });
    if (!form.elements.replaces) form.elements.id.value = crypto.randomUUID();
  });
  form.elements.photo?.addEventListener('change', shrink);
}

// shrink draws each photo anew and smaller: what the phone wrote beside it, its
// place too, never leaves the phone. What cannot be drawn is sent as it is.
async function shrink() {
  const input = form.elements.photo, out = new DataTransfer();
  for (const file of input.files) {
    try {
      const m = await createImageBitmap(file, { imageOrientation: 'from-image' });
      const s = Math.min(1, most / Math.max(m.width, m.height));
      const c = Object.assign(document.createElement('canvas'), { width: Math.round(m.width * s), height: Math.round(m.height * s) });
      c.getContext('2d').drawImage(m, 0, 0, c.width, c.height);
      const blob = await new Promise((done) => c.toBlob(done, 'image/jpeg', 0.82));
      out.items.add(new File([blob], 'photo.jpg', { type: 'image/jpeg' }));
    } catch {
      out.items.add(file);
    }
  }
  input.files = out.files;
}

const picked = (label, name, type, t, chosen) => {
  const l = document.createElement('label'), i = Object.assign(document.createElement('input'), { type, name, value: t.value, checked: chosen });
  if (type === 'radio') i.required = true;
  else l.className = 'tick';
  l.append(i, t.text);
  if (t.note && type === 'radio') {
    const m = Object.assign(document.createElement('span'), { className: 'mark', textContent: t.note });
    l.append(' ', m);
  }
  label.append(l);
};

// The bed and its threats, also on a page that was kept.
async function beds() {
  const action = new URL(form.action).pathname.replace(/\/treatment$/, '');
  const r = await fetch(`${action}/choices`);
  if (!r.ok) return;
  const { beds } = await r.json();
  const take = (id, threats) => {
    const b = beds.find((x) => x.value === id);
    if (!b) return;
    bed.value = id;
    form.elements.planting.value = id;
    form.querySelector('.where strong').textContent = b.text;
    for (const [where, name, type] of [['[data-threats]', 'threat', 'radio'], ['[data-aims]', 'threats', 'checkbox']]) {
      const box = form.querySelector(where);
      if (!box) continue;
      box.replaceChildren();
      for (const t of b.threats) picked(box, name, type, t, threats.includes(t.value));
    }
  };
  bed.addEventListener('change', () => take(bed.value, []));
  // A kept page may be another address's.
  const q = new URLSearchParams(location.search);
  const other = q.get('planting') !== form.elements.planting.value, none = !form.querySelector('[name=threat]:checked, [name=threats]:checked');
  if (q.get('planting') && (other || none)) take(q.get('planting'), [q.get('threat')]);
}

if (form && bed && !form.elements.replaces) beds().catch(() => {});
