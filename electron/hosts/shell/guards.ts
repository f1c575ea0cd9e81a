/** What no page may do, whichever it is: leave, open windows, ask for devices, embed others, fetch from elsewhere. */
import type { App, Session, WebContents } from 'electron';
import { isOurs } from './screens-protocol.ts';

/** Applies to every page there will ever be, so it is set once, before the first window. */
export function guardPages(app: App): void {
  app.on('web-contents-created', (_event, contents: WebContents) => {
    contents.setWindowOpenHandler(() => ({ action: 'deny' }));
    contents.on('will-navigate', (event) => {
      if (!isOurs(event.url)) event.preventDefault();
    });
    contents.on('will-frame-navigate', (event) => {
      if (!event.isMainFrame || !isOurs(event.url)) event.preventDefault();
    });
    contents.on('will-redirect', (event) => event.preventDefault());
    contents.on('will-attach-webview', (event) => event.preventDefault());
  });
  app.on('certificate-error', (event, _contents, _url, _error, _certificate, decide) => {
    event.preventDefault();
    decide(false);
  });
  app.on('select-client-certificate', (event) => event.preventDefault());
  app.on('login', (event) => event.preventDefault());
}

/** No device, no sensor, no notice; nothing from the network at all. */
export function guardSession(session: Session): void {
  session.setPermissionRequestHandler((_contents, _permission, decide) => decide(false));
  session.setPermissionCheckHandler(() => false);
  session.setDevicePermissionHandler(() => false);
  session.webRequest.onBeforeRequest((details, decide) => {
    const { url } = details;
    const allowed = isOurs(url) || /^(blob:wearwright:\/\/app\/|data:|devtools:)/.test(url);
    decide({ cancel: !allowed });
  });
  session.on('will-download', (event, item) => {
    // A form's file leaves as a blob that our page has made; the system then asks where to put it.
    if (!item.getURL().startsWith('blob:wearwright://app/')) event.preventDefault();
  });
}
