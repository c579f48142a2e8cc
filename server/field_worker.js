// Keeps the field page on the phone, so that it opens without a link. Events are never kept here.
const kept = 'stonecall-field-1';

self.addEventListener('install', (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(kept).then((cache) => cache.add('/field')));
});

self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.pathname !== '/field') return;
  event.respondWith((async () => {
    const cache = await caches.open(kept);
    try {
      const page = await fetch(event.request);
      if (page.ok) await cache.put('/field', page.clone());
      return page;
    } catch (noLink) {
      return (await cache.match('/field')) ?? Response.error();
    }
  })());
});
