// Messages to this browser: asked for by a button, never by itself.
const box = document.getElementById('push');

const key = (text) => Uint8Array.from(atob(text.replace(/-/g, '+').replace(/_/g, '/')), (c) => c.charCodeAt(0));

async function start() {
  const say = box.querySelector('[data-say]'), button = box.querySelector('[data-do]'), words = box.dataset;
  if (!('serviceWorker' in navigator) || !('PushManager' in window) || !('Notification' in window)) {
    say.textContent = words.no;
    return;
  }
  if (Notification.permission === 'denied') {
    say.textContent = words.denied;
    return;
  }
  const worker = await navigator.serviceWorker.ready;
  const have = await worker.pushManager.getSubscription();
  if (have && document.querySelector('[data-id]')) say.textContent = words.on;
  button.hidden = false;
  button.addEventListener('click', async () => {
    button.disabled = true;
    try {
      if (await Notification.requestPermission() !== 'granted') {
        say.textContent = words.denied;
        return;
      }
      // An old subscription may be for another key.
      await (await worker.pushManager.getSubscription())?.unsubscribe();
      const sub = await worker.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key(words.key) });
      const r = await fetch('/you/push', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(sub) });
      if (!r.ok) throw new Error((await r.json().catch(() => ({}))).error || r.status);
      location.reload();
    } catch (e) {
      say.textContent = words.failed + e.message;
    } finally {
      button.disabled = false;
    }
  });
}

if (box) start();
