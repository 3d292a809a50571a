// Every view of the desk in its three lights and three widths: it loads without errors or requests
// elsewhere, fits the width, and passes axe-core (WCAG 2.2 A, AA).
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { after, before, describe, test } from "node:test";
import { folderOf, middle, opened, phone, pixels, startBrowser, startDesk, violations, wide } from "./support.mjs";

// A name that closes tags and scripts.
const hostile = "x'\"><img src=x onerror=window.owned=1>.mkv";

let desk;
let browser;
let hashes;

before(async () => {
  const folder = folderOf({ "ground.mkv": "highland.mkv", "belts.nut": "belts_mosaic.nut", [hostile]: "granules_dark.mkv", "broken.ser": "README.md" });
  fs.writeFileSync(path.join(folder, "ridge.toml"), 'name = "Ridge, 250 mm"\n[optics]\naperture_mm = 250\nfocal_length_mm = 3750\n[camera]\npixel_um = 3.75\n');
  fs.writeFileSync(path.join(folder, "wrong.toml"), "[optics]\naperture = 250\n");
  // A night that has planned a picture, and has not come to it.
  fs.mkdirSync(path.join(folder, "out/night"), { recursive: true });
  fs.writeFileSync(path.join(folder, "out/night/plan.json"), JSON.stringify({ pictures: [{ name: "ground", captures: [path.join(folder, "ground.mkv")] }] }));
  desk = await startDesk(folder);
  const ground = await desk.capture("ground.mkv");
  const job = await desk.done({ verb: "stack", captures: [ground.id], options: { "--keep": "30%" } });
  assert.equal(job.state, "done", JSON.stringify(job.error));
  const [result] = job.results;  // its id
  await desk.ask("desk/sun-caution", {});
  hashes = { folder: "#/", look: `#/look/${ground.id}`, stack: `#/stack/${ground.id}`, queue: "#/queue", tune: `#/tune/${result}`, export: `#/export/${result}`, view: `#/view/${result}`, learn: "#/learn" };
  browser = await startBrowser();
});

after(async () => {
  await browser?.close();
  await desk?.stop();
  if (desk) fs.rmSync(desk.folder, { recursive: true });
});

/** Until what the view asks for has come. */
async function settled(page) {
  await page.waitForSelector("main h1");
  await page.waitForFunction(() => !document.querySelector(".frame-line:empty"));
  await page.waitForTimeout(700);
}

describe("every view", () => {
  for (const [light, width] of Object.entries({ dark: wide, light: phone, red: middle })) {
    // Colours do not depend on the width, so each of both is seen once; with SHOTS, a folder for pictures to look at, all are taken.
    for (const viewport of process.env.SHOTS ? [wide, middle, phone] : [width]) {
      test(`${light}, ${viewport.width} px wide`, async () => {
        for (const [name, hash] of Object.entries(hashes)) {
          await opened(browser, desk, hash, { light, viewport }, async (page) => {
            await settled(page);
            assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= viewport.width, `${name} is too wide`);
            assert.deepEqual(await violations(page), [], name);
            if (process.env.SHOTS) await page.screenshot({ path: path.join(process.env.SHOTS, `${name}_${light}_${viewport.width}.png`) });
          });
        }
      });
    }
  }

  // 380 nm to 590 nm spoil eyes that are used to the dark: common practice, no source. The page has neither green nor blue.
  test("red light shows neither green nor blue, and shows the pictures", async () => {
    for (const name of ["folder", "look", "tune"]) {
      await opened(browser, desk, hashes[name], { light: "red" }, async (page) => {
        await settled(page);
        const { most, bright } = await pixels(page);
        assert.ok(most[1] <= 2 && most[2] <= 2, `${name}: ${most}`);
        assert.ok(most[0] > 200 && bright > 0.02, `${name}: ${most} ${bright}`);
      });
    }
  });

  test("the instrument is chosen in the folder, and forms begin with it in every tab", async () => {
    await opened(browser, desk, "#/", { allowed: /422/ }, async (page, context) => {
      const stacking = await context.newPage();
      await stacking.goto(desk.base + hashes.stack);
      const proposed = (words) => stacking.locator(`#option--aperture[placeholder="${words}"]`).waitFor({ state: "attached" });
      await proposed("not known");
      const instrument = page.getByLabel("Instrument");
      await instrument.selectOption("ridge.toml");
      await instrument.getByText("Ridge, 250 mm").waitFor({ state: "attached" });
      await stacking.bringToFront();
      await proposed("250");
      await page.bringToFront();
      await instrument.selectOption("wrong.toml");
      await page.getByText("wrong.toml:2").waitFor();
      assert.equal(await instrument.inputValue(), "ridge.toml");
      await instrument.selectOption("");
      await stacking.bringToFront();
      await proposed("not known");
    });
  });

  test("a picture is shown in tiles up to its pixels, and results of no capture here are listed", async () => {
    await opened(browser, desk, hashes.view, {}, async (page) => {
      const tiles = [];
      page.on("response", (answer) => { if (/\/tiles\//.test(answer.url())) tiles.push(`${answer.status()} ${answer.url().split("/tiles/")[1]}`); });
      await page.reload();
      await page.getByRole("button", { name: "One pixel to one pixel" }).click();
      const light = () => page.locator(".tiles canvas").first().evaluate((canvas) => {
        const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        return data.reduce((most, value, i) => (i % 4 === 3 ? most : Math.max(most, value)), 0);
      });
      for (let i = 0; i < 50 && await light() < 150; ++i) await page.waitForTimeout(100);
      assert.ok(await light() >= 150);
      assert.ok(tiles.length > 0 && tiles.every((tile) => tile.startsWith("200")), String(tiles));
      await page.keyboard.press("0");
      await page.getByRole("link", { name: "Files" }).click();
      await page.getByRole("heading", { name: /^Export/ }).waitFor();
    });
  });

  test("a night near the captures is shown with what it waits for", async () => {
    await opened(browser, desk, "#/", {}, async (page) => {
      await page.getByText("Night in out: 1 picture, 1 waiting").click();
      await page.getByText("ground: waiting").waitFor();
    });
  });

  test("names that attack are shown as they are, and do nothing", async () => {
    await opened(browser, desk, "#/", {}, async (page) => {
      await page.getByRole("link", { name: hostile, exact: true }).click();
      await page.getByRole("heading", { name: hostile, level: 1 }).waitFor();
      assert.equal(await page.evaluate(() => window.owned), undefined);
    });
  });

  test("what is not there, or cannot be read, is said in words", async () => {
    await opened(browser, desk, "#/look/nothing", { allowed: /404|422/ }, async (page) => {
      await page.getByText("It may have been moved or deleted.").waitFor();
      await page.getByRole("link", { name: "To the folder" }).click();
      await page.getByRole("link", { name: "broken.ser" }).click();
      await page.getByText("is not a video that can be read").waitFor();
    });
  });
});
