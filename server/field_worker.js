// Keeps the field page on the phone, so that it opens without a link. Events are never kept here.
const kept = 'stonecall-field-1';
const patience = 4000;  // a link that is there and carries nothing must not keep the page away

self.addEventListener('install', (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(kept).then((cache) => cache.add('/field')));
});

self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));

async function fetched(cache) {
  const abort = new AbortController();
  const timer = setTimeout(() => abort.abort(), patience);
  try {
    const page = await fetch('/field', { cache: 'no-store', signal: abort.signal });
    if (!page.ok) throw new Error('status ' + page.status);
    await cache.put('/field', page.clone());
    return page;
  } finally {
    clearTimeout(timer);
  }
}

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.pathname !== '/field') return;
  event.respondWith((async () => {
    const cache = await caches.open(kept);
    try {
      return await fetched(cache);
    } catch (noLink) {
      return (await cache.match('/field')) ?? Response.error();
    }
  })());
});
