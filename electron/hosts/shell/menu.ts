/** The menu: standard roles and one entry of ours. Everything else is on the screens, where both hosts have it. */
import { Menu, type MenuItemConstructorOptions } from 'electron';

export function setMenu(actions: { readonly open: () => void }, forDevelopers: boolean): void {
  const mac = process.platform === 'darwin';
  const file: MenuItemConstructorOptions = {
    label: '&File',
    submenu: [
      { label: 'Open scan or library…', accelerator: 'CmdOrCtrl+O', click: actions.open },
      { type: 'separator' },
      mac ? { role: 'close' } : { role: 'quit' },
    ],
  };
  const view: MenuItemConstructorOptions = {
    label: '&View',
    submenu: [
      { role: 'zoomIn' },
      { role: 'zoomOut' },
      { role: 'resetZoom' },
      { role: 'togglefullscreen' },
      ...(forDevelopers ? ([{ type: 'separator' }, { role: 'reload' }, { role: 'toggleDevTools' }] as const) : []),
    ],
  };
  Menu.setApplicationMenu(
    Menu.buildFromTemplate([
      ...(mac ? ([{ role: 'appMenu' }] as const) : []),
      file,
      { role: 'editMenu' },
      view,
      ...(mac ? ([{ role: 'windowMenu' }] as const) : []),
    ]),
  );
}
