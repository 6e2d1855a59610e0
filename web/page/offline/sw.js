// The worker: pages that were opened stay readable without a connection, with the
// time that they are from; a form that cannot be sent is kept and sent later; and
// messages are shown. VERSION and FILES stand above, and the queue.
const CACHE = 'plotwarden-' + VERSION, LATEST = 80, PATIENCE = 5000, LONG = 25000;

self.addEventListener('install', (e) => e.waitUntil((async () => {
  const c = await caches.open(CACHE);
  await c.addAll(FILES);
  await keep(c, new Request('/waiting'), await fetch('/waiting'));
  await self.skipWaiting();
})()));

// Pages that an older version kept are fetched again, since they name its styles;
// one that cannot be fetched is kept as it is.
self.addEventListener('activate', (e) => e.waitUntil((async () => {
  const c = await caches.open(CACHE);
  for (const name of await caches.keys()) {
    if (!name.startsWith('plotwarden-') || name === CACHE) continue;
    const old = await caches.open(name);
    for (const r of await old.keys()) {
      if (await c.match(r, { ignoreVary: true })) continue;
      try {
        if (isPage(new URL(r.url))) await keep(c, r, await fetch(r.url));
      } catch {
        await c.put(r, await old.match(r, { ignoreVary: true }));
      }
    }
    await caches.delete(name);
  }
  await self.clients.claim();
})()));

const isPage = (u) => u.origin === location.origin && /^\/($|site\/|threats|waiting|work)/.test(u.pathname) && !/\/(photo|share|record\.csv|.*\.csv)(\/|$)/.test(u.pathname);
const isChoices = (u) => /^\/site\/[^/]+\/log\/choices$/.test(u.pathname);
const isLogForm = (u) => /^\/site\/([^/]+)\/log(\/treatment)?$/.exec(u.pathname);

// keep stores an answer with the time at which it came. What asks not to be stored
// is not.
async function keep(c, request, response) {
  if (!response.ok || response.redirected || /no-store/.test(response.headers.get('Cache-Control') || '')) return;
  const h = new Headers(response.headers);
  h.set('X-Kept', new Date().toISOString());
  await c.put(request, new Response(await response.clone().blob(), { status: 200, headers: h }));
  const pages = (await c.keys()).filter((r) => isPage(new URL(r.url)));
  for (const r of pages.slice(0, Math.max(0, pages.length - LATEST))) await c.delete(r);
}

const timed = (request, ms, options = {}) => fetch(request, { ...options, signal: AbortSignal.timeout(ms) });

// kept answers with what was stored, and says above the page how old it is.
async function kept(request) {
  const c = await caches.open(CACHE), u = new URL(request.url);
  const r = await c.match(request, { ignoreVary: true }) || (isLogForm(u) && await c.match(request, { ignoreVary: true, ignoreSearch: true }));
  if (!r) return null;
  if (!(r.headers.get('Content-Type') || '').startsWith('text/html')) return r;
  const html = await r.text(), since = new Date(r.headers.get('X-Kept')), lang = /<html lang="([^"]+)"/.exec(html)?.[1] || 'en';
  const words = /<meta name="as-of" content="([^"]+)"/.exec(html)?.[1] || 'No connection. This page is as of';
  const when = since.toLocaleString(lang === 'en' ? 'en-GB' : lang, { weekday: 'short', day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' });
  return new Response(html.replace(/(<main[^>]*>)/, `$1<p class="as-of" role="status">${words} ${when}.</p>`), { headers: r.headers });
}

async function page(request) {
  const c = await caches.open(CACHE);
  const fresh = fetch(request).then(async (r) => {
    if (!r.redirected && r.type === 'basic') await keep(c, request, r.clone()).catch(() => {});
    return r;
  });
  fresh.catch(() => {});
  try {
    // A weak connection must not hold up what is here already.
    return await Promise.race([fresh, new Promise((_, no) => setTimeout(() => no(new Error('slow')), PATIENCE))]);
  } catch {
    const old = await kept(request);
    if (old) return old;
    try {
      return await fresh;
    } catch {
      return await kept(new Request('/waiting')) || Response.error();
    }
  }
}

// logged sends a form of the log, or keeps it where that fails. Its name makes sure
// that one which did arrive is not kept twice.
async function logged(request, site, kind) {
  const spare = request.clone();
  try {
    return await timed(request, LONG);
  } catch {
    const data = await spare.formData();
    if (data.get('act') === 'check') return await kept(new Request('/waiting')) || Response.error();
    await put(entryOf(site, kind, data));
    return Response.redirect('/waiting', 303);
  }
}

self.addEventListener('fetch', (e) => {
  const { request } = e, u = new URL(request.url);
  if (u.origin !== location.origin) return;
  if (request.method === 'POST' && request.mode === 'navigate') {
    const form = isLogForm(u);
    if (form) return e.respondWith(logged(request, decodeURIComponent(form[1]), form[2] ? 'treatment' : 'look'));
    // Who signs in or out must not find the pages of somebody else.
    if (u.pathname.startsWith('/sign-')) e.waitUntil(forget());
    return;
  }
  if (request.method !== 'GET') return;
  if (u.pathname.startsWith('/assets/')) return e.respondWith(caches.match(request, { ignoreVary: true }).then((r) => r || fetch(request)));
  if (isChoices(u)) return e.respondWith(page(request));
  if (request.mode === 'navigate' && isPage(u)) {
    const form = isLogForm(u);
    if (form) e.waitUntil(ahead(`/site/${form[1]}/log`));
    e.respondWith(page(request));
  }
});

// ahead keeps what the log's forms need, so that they open later without a
// connection.
async function ahead(log) {
  const c = await caches.open(CACHE);
  for (const path of [`${log}/choices`, log, `${log}/treatment`]) {
    try {
      if (!await c.match(path, { ignoreVary: true })) await keep(c, new Request(path), await fetch(path));
    } catch { return; }
  }
}

async function forget() {
  const c = await caches.open(CACHE);
  for (const r of await c.keys()) {
    const u = new URL(r.url);
    if ((isPage(u) || isChoices(u)) && u.pathname !== '/waiting') await c.delete(r);
  }
}

self.addEventListener('push', (e) => {
  let n = {};
  try { n = e.data.json(); } catch { /* shown without words of its own */ }
  e.waitUntil(self.registration.showNotification(n.title || 'plotwarden', { body: n.line || '', tag: n.tag, icon: ICON, data: { link: n.link || '/' } }));
});

self.addEventListener('notificationclick', (e) => {
  e.notification.close();
  let to = new URL('/', location.origin);
  try { to = new URL(e.notification.data.link, location.origin); } catch { /* home */ }
  if (to.origin !== location.origin) to = new URL('/', location.origin);
  e.waitUntil((async () => {
    for (const c of await self.clients.matchAll({ type: 'window' })) {
      if (new URL(c.url).pathname === to.pathname) return c.focus();
    }
    return self.clients.openWindow(to.href);
  })());
});
