// Hands on the page: where a part is in the view, and fingers on a touch screen.

/** A place of the view at which a part that can be placed is taken hold of: looked for as a mouse would, by going over it. */
export async function placeOf(page, part) {
  const view = await page.locator("#canvas").boundingBox();
  const step = Math.max(4, view.width / 160);
  for (const pass of [step * 3, step]) {
    const found = [];
    for (let y = view.y + pass; y < view.y + view.height; y += pass) {
      for (let x = view.x + pass; x < view.x + view.width; x += pass) {
        await page.mouse.move(x, y);
        if ((await page.evaluate(() => document.querySelector("#canvas").dataset.over)) === part) found.push({ x, y });
      }
      // a row that has it, and one more: it is taken in its middle and not by its edge
      if (found.length > 0 && found.at(-1).y < y) break;
    }
    if (found.length > 0) return found[Math.floor(found.length / 2)];
  }
  throw new Error(`${part} is nowhere in the view`);
}

/** One finger on a touch screen. */
export async function finger(page) {
  const session = await page.context().newCDPSession(page);
  const send = (type, points) => session.send("Input.dispatchTouchEvent", { type, touchPoints: points });
  return {
    down: (x, y) => send("touchStart", [{ x, y }]),
    move: (x, y) => send("touchMove", [{ x, y }]),
    up: () => send("touchEnd", []),
  };
}

/** The words of the part that is chosen or held. */
export async function placed(page) {
  return page.textContent("#placing");
}

/** The number that says where a part is: `Badge: 107.00 mm, ...`. */
export async function stationOf(page) {
  return Number(/: (\d+\.\d+)/.exec(await page.textContent("#placing strong"))[1]);
}

/** The core has followed the part to where the hand has it. */
export async function rests(page) {
  // a move of the mouse is heard with the next frame
  await page.waitForTimeout(60);
  await page.waitForFunction(() => document.documentElement.dataset.placing !== "follows");
}

/** Goes on by Tab until what matches is reached. */
export async function tabTo(page, selector, most) {
  for (let presses = 0; presses < most; presses += 1) {
    await page.keyboard.press("Tab");
    if (await page.evaluate((wanted) => document.activeElement.matches(wanted), selector)) return;
  }
  throw new Error(`${selector} is not reached by ${most} Tabs`);
}
