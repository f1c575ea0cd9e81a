/** Pressing where a point of the scene lies in the view. */
import type { Page } from 'playwright-core';
import type { Vec3 } from '../../shared-types/mesh.ts';

/** Look from a side and click where a point lies; `within` names the part of the page whose view is meant. */
export async function clickPoint(page: Page, view: string, point: Vec3, within = ''): Promise<void> {
  const place = await page.evaluate<{ x: number; y: number }>(`(async () => {
    const host = document.querySelector('${within} .fitting-host');
    host.fittingView.view('${view}');
    do await new Promise((settle) => setTimeout(settle, 400));
    while (!host.fittingView.stats().isPickable);
    const { x, y } = host.fittingView.placeOf(${JSON.stringify(point)});
    const box = host.getBoundingClientRect();
    return { x: box.left + x, y: box.top + y };
  })()`);
  await page.mouse.move(place.x - 3, place.y);
  await page.mouse.move(place.x, place.y);
  await page.mouse.down();
  await page.mouse.up();
}

/** Whether what is seen from a side where a point lies is within `reach` of it: the page has caught up with the services. */
export function isSeen(page: Page, view: string, point: Vec3, reach: number): Promise<boolean> {
  return page.evaluate<boolean>(`(async () => {
    const { fittingView } = document.querySelector('.fitting-host');
    const point = ${JSON.stringify(point)};
    fittingView.view('${view}');
    await new Promise((settle) => setTimeout(settle, 400));
    if (!fittingView.stats().isPickable) return false;
    const { x, y } = fittingView.placeOf(point);
    const hit = fittingView.pickAt(x, y);
    return hit !== undefined && Math.hypot(...hit.point.map((c, k) => c - point[k])) < ${reach};
  })()`);
}
