// Tuning by eye and exporting: the bytes are those of the command line.
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { after, before, describe, test } from "node:test";
import { folderOf, lull, mean, opened, startBrowser, startDesk } from "./support.mjs";

let desk;
let browser;

before(async () => {
  desk = await startDesk(folderOf({ "ground.mkv": "highland.mkv", "belts.nut": "belts_mosaic.nut" }));
  for (const name of ["ground.mkv", "belts.nut"]) await desk.capture(name);
  await desk.ask("desk/sun-caution", {});
  browser = await startBrowser();
});

after(async () => {
  await browser?.close();
  await desk?.stop();
  if (desk) fs.rmSync(desk.folder, { recursive: true });
});

describe("tuning and exporting", () => {
  test("what is tuned by eye is written with the bytes of the command line", async () => {
    const { id } = await desk.capture("ground.mkv");
    const made = await desk.done({ verb: "stack", captures: [id], options: {}, output: "tuned.tif" });
    const [result] = made.results;
    await opened(browser, desk, `#/tune/${result}`, {}, async (page) => {
      await page.waitForFunction(() => /\d+ ms/.test(document.querySelector("main").textContent));
      const before = await mean(page, ".tuned canvas");
      assert.ok(before > 5);
      await page.getByRole("button", { name: "By hand" }).click();
      const point = page.getByRole("slider", { name: /Gain of features of 2\.5/ });
      await point.focus();
      for (let i = 0; i < 5; ++i) await page.keyboard.press("ArrowUp");
      const gain = Number(await point.getAttribute("aria-valuenow"));
      await page.keyboard.press("Escape");
      await page.locator("main").focus();
      await page.keyboard.press("z");
      assert.ok(Number(await point.getAttribute("aria-valuenow")) < gain);
      await page.keyboard.press("y");
      assert.equal(Number(await point.getAttribute("aria-valuenow")), gain);
      await page.getByLabel("Tone", { exact: true }).selectOption("gamma");
      await page.keyboard.press("v");
      const divider = page.getByRole("slider", { name: /Divider/ });
      await divider.focus();
      await page.keyboard.press("Home");
      assert.equal(await divider.getAttribute("aria-valuenow"), "0");
      await page.keyboard.press("PageUp");
      assert.match(await divider.getAttribute("aria-valuetext"), /Linear stack on the left 10 percent/);
      await page.getByRole("link", { name: "Export" }).last().click();
      await page.getByRole("textbox", { name: "Name" }).fill("out");
      await page.getByRole("checkbox", { name: /copy to share/ }).check();
      await page.getByRole("button", { name: "Write the file" }).click();
      await page.getByRole("heading", { name: "out.tif is written" }).waitFor({ timeout: 60_000 });
      await page.getByRole("link", { name: "out.jpg" }).waitFor();  // it can be had from another computer, too
      const seen = page.getByRole("img", { name: "out.tif as a screen shows it" });
      await page.waitForFunction((image) => image.complete && image.naturalWidth > 0, await seen.elementHandle());
      const command = await page.locator("[role=status] pre").innerText();
      assert.match(command, /^lull finish /);
    });
    const results = path.join(desk.folder, "results");
    const recipe = path.join(results, "out.finish.json");
    lull(results, "finish", "tuned.linear.fits", "-o", "again.tif", "--recipe", recipe);
    assert.ok(fs.readFileSync(path.join(results, "out.tif")).equals(fs.readFileSync(path.join(results, "again.tif"))));
    const options = JSON.parse(fs.readFileSync(recipe, "utf8")).options;
    assert.equal(options.tone, "gamma");
    assert.match(options.detail, /^1\.2:/);
    assert.ok(fs.existsSync(path.join(results, "out.jpg")));
  });

  test("noise that is raised is hatched on the picture and told of, until restraint holds it back", async () => {
    const { id } = await desk.capture("belts.nut");
    const made = await desk.done({ verb: "stack", captures: [id], options: { "--keep": "30%" }, output: "noisy.tif" });
    await opened(browser, desk, `#/tune/${made.results[0]}`, {}, async (page) => {
      await page.waitForFunction(() => /\d+ ms/.test(document.querySelector("main").textContent));
      await page.getByRole("button", { name: "By hand" }).click();
      await page.getByRole("slider", { name: /Gain of features of 1\.2/ }).focus();
      for (let i = 0; i < 26; ++i) await page.keyboard.press("Shift+ArrowUp");
      await page.getByText("Restraint holds their noise back.").waitFor();
      await page.getByRole("slider", { name: "Restraint" }).fill("0");
      await page.getByText(/Noise is raised up to [\d.]+ times in the hatched \d+% of the picture/).waitFor();
      const orange = () => page.evaluate(() => {
        const { data } = document.querySelector(".tuned canvas").getContext("2d").getImageData(0, 0, 4000, 2000);
        let count = 0;
        for (let i = 0; i < data.length; i += 4) if (data[i] > 150 && data[i] > data[i + 2] + 110) ++count;  // the lines are smoothed
        return count;
      });
      assert.ok(await orange() > 200, `${await orange()}`);
      await page.getByRole("button", { name: "Mark noise" }).click();
      await page.waitForTimeout(100);
      assert.equal(await orange(), 0);
      assert.equal(await page.getByText("Noise is raised").count(), 0);
    });
  });

  test("a quarter turn and a flip are shown at once, and a turned picture is moved and zoomed", async () => {
    const { id } = await desk.capture("belts.nut");
    const made = await desk.done({ verb: "stack", captures: [id], options: { "--keep": "30%" }, output: "turned.tif" });
    await opened(browser, desk, `#/tune/${made.results[0]}`, {}, async (page) => {
      await page.waitForFunction(() => /\d+ ms/.test(document.querySelector("main").textContent));
      await page.getByLabel("Left of the divider").selectOption("nothing");
      const pixels = () => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => {
        const canvas = document.querySelector(".tuned canvas");
        const { width, height } = canvas;
        const side = Math.floor(Math.min(width, height) / 2) * 2;
        const { data } = canvas.getContext("2d").getImageData((width - side) / 2, (height - side) / 2, side, side);
        // Brightness of the four quarters, row by row: a picture that is not even tells how it is held.
        const sums = [0, 0, 0, 0];
        for (let y = 0; y < side; ++y) for (let x = 0; x < side; ++x) sums[2 * (y < side / 2 ? 0 : 1) + (x < side / 2 ? 0 : 1)] += data[4 * (y * side + x) + 2];
        done(sums.map((sum) => sum / side / side));
      }))));
      await page.locator(".tuned canvas").focus();
      for (let i = 0; i < 4; ++i) await page.keyboard.press("+");
      const order = (/** @type {number[]} */ q) => q.map((value, i) => [value, i]).sort((a, b) => b[0] - a[0]).map(([, i]) => i);
      const upright = await pixels();
      assert.ok(Math.max(...upright) - Math.min(...upright) > 0.1, `${upright}`);
      await page.getByRole("button", { name: "A quarter turn" }).click();
      const turned = await pixels();
      // Clockwise: left below goes to left above, left above to right above.
      assert.deepEqual(order(turned), order([upright[2], upright[0], upright[3], upright[1]]), `${upright} ${turned}`);
      await page.getByLabel("Flip", { exact: true }).selectOption("left-right");
      const flipped = await pixels();
      // Flipped first: the upright picture's right becomes left, then it is turned.
      assert.deepEqual(order(flipped), order([upright[3], upright[1], upright[2], upright[0]]), `${upright} ${flipped}`);
      await page.getByLabel("Red, to the right, px").fill("0.4");
      await page.getByLabel("Red, to the right, px").press("Tab");
      await page.waitForFunction(() => JSON.parse(Object.entries(localStorage).find(([key]) => key.startsWith("lull.tune."))[1]).options["--channel-offsets"] === "0.4,0,0,0");
    });
  });

  test("a spot that is gray gives the white balance of a colour picture", async () => {
    const { id } = await desk.capture("belts.nut");
    const made = await desk.done({ verb: "stack", captures: [id], options: { "--keep": "50%" }, output: "belts.tif" });
    await opened(browser, desk, `#/tune/${made.results[0]}`, {}, async (page) => {
      await page.waitForFunction(() => /\d+ ms/.test(document.querySelector("main").textContent));
      await page.getByRole("button", { name: "White is at a spot I pick" }).click();
      const box = await page.locator(".tuned canvas").boundingBox();
      await page.mouse.click(box.x + box.width * 0.45, box.y + box.height * 0.45);
      await page.waitForFunction(() => /^[\d.]+,1,[\d.]+$/.test(document.querySelector("[id='option--white-balance-text']").value));
    });
  });
});
