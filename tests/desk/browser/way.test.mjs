// The way from the folder to an exported picture, as one goes it: by mouse, by keys alone, with a
// second tab, a closed page, a job that is cancelled.
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { after, before, describe, test } from "node:test";
import { folderOf, mean, opened, phone, sample, startBrowser, startDesk } from "./support.mjs";

let desk;
let browser;

before(async () => {
  desk = await startDesk(folderOf({ "ground.mkv": "highland.mkv", "belts.nut": "belts_mosaic.nut", "sunny.mkv": "granules.mkv", "dark.mkv": "granules_dark.mkv" }));
  for (const name of ["ground.mkv", "belts.nut", "sunny.mkv", "dark.mkv"]) await desk.capture(name);
  browser = await startBrowser();
});

after(async () => {
  await browser?.close();
  await desk?.stop();
  if (desk) fs.rmSync(desk.folder, { recursive: true });
});

const caution = (page) => page.getByRole("button", { name: "I have read this" });
const line = (page) => page.locator(".frame-line");
const ranked = (page) => page.getByRole("button", { name: "Beside the best" }).and(page.locator(":enabled")).waitFor({ timeout: 60_000 });
const jobs = async () => (await desk.ask("jobs")).jobs.filter((job) => job.verb !== "survey");
describe("the Sun", () => {
  test("the caution stands before the first capture that may be the Sun, and once", async () => {
    await opened(browser, desk, "#/", {}, async (page) => {
      await page.getByRole("link", { name: "sunny.mkv" }).click();
      const dialog = page.getByRole("dialog");
      await dialog.waitFor();
      assert.match(await dialog.innerText(), /certified full-aperture filter/);
      assert.match(await dialog.innerText(), /never an eye at unfiltered optics/);
      assert.equal(await page.locator("main h1").count(), 0);  // nothing of the capture is shown yet
      await caution(page).click();
      await page.getByRole("heading", { name: "sunny.mkv" }).waitFor();
      await page.getByRole("link", { name: "Folder" }).click();
      await page.getByRole("link", { name: "dark.mkv" }).click();
      await page.getByRole("heading", { name: "dark.mkv" }).waitFor();
      assert.equal(await dialog.count(), 0);
    });
  });
});

describe("the folder", () => {
  test("can be searched and sorted, and shows a capture that is copied into it", async () => {
    await opened(browser, desk, "#/", {}, async (page) => {
      const names = () => page.locator(".cards h2").allInnerTexts();
      await page.getByRole("combobox", { name: "Order of captures" }).selectOption("name");
      assert.deepEqual(await names(), ["belts.nut", "dark.mkv", "ground.mkv", "sunny.mkv"]);
      await page.keyboard.press("Escape");
      await page.getByRole("searchbox").fill("ground");
      await page.getByText("1 of 4 captures").waitFor();
      await page.getByRole("link", { name: "belts.nut" }).waitFor({ state: "detached" });
      assert.deepEqual(await names(), ["ground.mkv"]);
      await page.getByRole("searchbox").fill("nowhere");
      await page.getByText("No capture has all of these words.").waitFor();
      await page.getByRole("searchbox").fill("");
      fs.copyFileSync(sample("webcam_uyvy.avi"), path.join(desk.folder, "late.avi"));
      await page.getByRole("link", { name: "late.avi" }).waitFor({ timeout: 20_000 });
      fs.rmSync(path.join(desk.folder, "late.avi"));
      await page.getByRole("link", { name: "late.avi" }).waitFor({ state: "detached", timeout: 20_000 });
    });
  });
});

describe("looking", () => {
  test("frames in time, sharpest first, beside the best; tone without asking the server", async () => {
    const { id } = await desk.capture("ground.mkv");
    await opened(browser, desk, `#/look/${id}`, {}, async (page) => {
      await ranked(page);
      await page.getByText("the sharpest").first().waitFor();
      const best = /Frame (\d+)/.exec(await line(page).innerText())[1];
      const { order } = await desk.ask(`captures/${id}/survey`);
      assert.equal(Number(best), order[0]);
      await page.getByRole("button", { name: "Sharpest first" }).click();
      await page.keyboard.press("Escape");
      await page.locator(".scrubber canvas").press("ArrowRight");
      assert.match(await line(page).innerText(), new RegExp(`Frame ${order[1]} .*number 2 in sharpness`));
      await page.getByRole("button", { name: "Beside the best" }).click();
      await page.waitForFunction(() => document.querySelectorAll(".stages figure:not([hidden])").length === 2);
      await page.waitForTimeout(400);
      const asked = [];
      page.on("request", (request) => asked.push(request.url()));
      const before = await mean(page);
      await page.getByRole("slider", { name: "White" }).fill("0.5");
      await page.waitForTimeout(200);
      assert.ok(await mean(page) > 1.2 * before, `${before} ${await mean(page)}`);
      assert.deepEqual(asked, []);
    });
  });

  test("a press on the curve leads to that frame, and play goes on from it", async () => {
    const { id } = await desk.capture("ground.mkv");
    await opened(browser, desk, `#/look/${id}`, {}, async (page) => {
      await ranked(page);
      const box = await page.locator(".scrubber canvas").boundingBox();
      await page.mouse.click(box.x + box.width * 0.5, box.y + box.height / 2);
      assert.match(await line(page).innerText(), /Frame (99|100) of 200/);
      await page.getByRole("button", { name: "Play" }).click();
      await page.waitForFunction(() => Number(/Frame (\d+)/.exec(document.querySelector(".frame-line").textContent)[1]) > 103);
      await page.getByRole("button", { name: "Stop" }).click();
      const stopped = await line(page).innerText();
      await page.waitForTimeout(400);
      assert.equal(await line(page).innerText(), stopped);
    });
  });

  test("a telephone shows the frames and the queue", async () => {
    const { id } = await desk.capture("belts.nut");
    await opened(browser, desk, `#/look/${id}`, { viewport: phone, hasTouch: true, isMobile: true, deviceScaleFactor: 2 }, async (page) => {
      await ranked(page);
      assert.ok(await mean(page) > 5);
      await page.getByRole("link", { name: "Queue" }).click();
      await page.getByRole("heading", { name: "The queue" }).waitFor();
    });
  });
});

describe("by keys alone", () => {
  test("from the folder to a stack without frames that were left out, in the crop that was typed", async () => {
    await opened(browser, desk, "#/", {}, async (page) => {
      await page.locator(".cards a").first().waitFor();
      await page.keyboard.press("/");
      await page.keyboard.type("ground");
      await page.getByText("1 of 4 captures").waitFor();
      await page.keyboard.press("Enter");
      await page.waitForFunction(() => document.activeElement?.textContent === "ground.mkv");
      await page.keyboard.press("Enter");
      await ranked(page);
      // Frame by frame: one out, a stretch of five out, one step taken back.
      await page.locator(".scrubber canvas").focus();
      await page.keyboard.press("Home");
      await page.keyboard.press("o");
      for (let i = 0; i < 10; ++i) await page.keyboard.press("ArrowRight");
      await page.keyboard.press("[");
      for (let i = 0; i < 4; ++i) await page.keyboard.press("ArrowRight");
      await page.keyboard.press("]");
      await page.getByRole("button", { name: "Leave out 10 to 14" }).press("Enter");
      const left = page.getByRole("textbox", { name: /Frames left out/ });
      assert.equal(await left.inputValue(), "0,10-14");
      await page.locator(".scrubber canvas").focus();
      await page.keyboard.press("o");
      assert.equal(await left.inputValue(), "0,10-13");
      await page.keyboard.press("z");
      assert.equal(await left.inputValue(), "0,10-14");
      for (const [name, value] of [["X", 40], ["Y", 30], ["Width", 200], ["Height", 160]]) {
        await page.getByRole("spinbutton", { name: `Crop: ${name}, px` }).focus();
        await page.keyboard.type(String(value));
      }
      await page.keyboard.press("Tab");
      await page.getByRole("link", { name: "Stack this capture" }).press("Enter");
      await page.getByRole("heading", { name: "Stack ground.mkv" }).waitFor();
      await page.getByRole("textbox", { name: "Name" }).focus();
      await page.keyboard.type("part.tif");
      await page.getByRole("button", { name: "Stack", exact: true }).press("Enter");
      await page.getByRole("link", { name: "Tune part.tif" }).waitFor({ timeout: 120_000 });
      const recipe = JSON.parse(fs.readFileSync(path.join(desk.folder, "results", "part.recipe.json"), "utf8")).options;
      assert.equal(recipe.exclude, "0,10-14");
      assert.equal(recipe.crop, "40,30,200,160");
      await page.keyboard.press("?");
      await page.getByRole("dialog").getByText("Pause what runs, or go on").waitFor();
      await page.keyboard.press("Escape");
    });
  });

  test("who is on a button or types stays there while frames arrive", async () => {
    const { id } = await desk.capture("ground.mkv");
    await opened(browser, desk, `#/look/${id}`, {}, async (page) => {
      await ranked(page);
      const focused = () => page.evaluate(() => document.activeElement?.textContent);
      const shown = async (frame) => {
        await page.waitForFunction((at) => document.querySelector(".frame-line").textContent.startsWith(`Frame ${at} `), frame);
        await page.waitForTimeout(400);  // its picture comes later than its words
      };
      await page.getByRole("button", { name: "A stretch from here" }).focus();
      await page.keyboard.press("Enter");
      const first = Number(/Frame (\d+)/.exec(await line(page).innerText())[1]);
      await page.keyboard.press("Tab");
      await page.keyboard.press("Tab");
      const part = (to) => `Leave out ${first} to ${to}`;
      assert.equal(await focused(), part(first));
      await page.keyboard.press("ArrowRight");
      await shown(first + 1);
      assert.equal(await focused(), part(first));
      await page.keyboard.press("]");
      assert.equal(await focused(), part(first + 1));
      // The button has gone, and the key does not fall through to the view, where it means "Stack this capture".
      await page.keyboard.press("Enter");
      assert.equal(await focused(), "A stretch from here");
      const left = page.getByRole("textbox", { name: /Frames left out/ });
      assert.equal(await left.inputValue(), `${first}-${first + 1}`);
      await left.fill("3,5");
      await page.evaluate(() => document.querySelector(".scrubber canvas").dispatchEvent(new KeyboardEvent("keydown", { key: "Home" })));
      await shown(0);
      assert.equal(await left.inputValue(), "3,5");
      await left.press("Enter");
      await page.getByText("2 frames of 200 left out.").waitFor();
      await page.getByRole("button", { name: "Take all again" }).press("Enter");
      assert.equal(await focused(), "Undo");
    });
  });

  test("all frames below a line are left out", async () => {
    const { id } = await desk.capture("belts.nut");
    await opened(browser, desk, `#/look/${id}`, {}, async (page) => {
      await ranked(page);
      await page.getByRole("button", { name: "All below a line" }).press("Enter");
      await page.getByRole("spinbutton", { name: /below this sharpness/ }).fill("60");
      const { sharpness } = await desk.ask(`captures/${id}/survey`);
      const best = Math.max(...sharpness);
      const below = sharpness.flatMap((value, i) => (value !== null && value / best < 0.6 ? [i] : []));
      assert.ok(below.length > 0 && below.length < sharpness.length);
      await page.getByRole("button", { name: `Leave out ${below.length} frame` }).press("Enter");
      await page.getByText(`${below.length} frames of ${sharpness.length} left out.`, { exact: true }).waitFor();
      // What was chosen is there again when the page is.
      await page.reload();
      await page.getByText(`${below.length} frames of ${sharpness.length} left out.`, { exact: true }).waitFor();
    });
  });
});

describe("the queue", () => {
  test("goes on without its page, shows the same in a second tab, and cancels without a trace", async () => {
    const { id } = await desk.capture("ground.mkv");
    // 409: a job that ends between its news and the question has no growing stack any more.
    await opened(browser, desk, `#/stack/${id}`, { allowed: /409/ }, async (page, context) => {
      await page.getByRole("textbox", { name: "Name" }).fill("kept.tif");
      await page.getByRole("button", { name: "Stack", exact: true }).click();
      await page.getByRole("heading", { name: "The queue" }).waitFor();
      await page.close();
      const second = await context.newPage();
      await second.goto(`${desk.base}#/queue`);
      await second.getByText(/Running|Done|Waiting/).first().waitFor();
      const third = await context.newPage();
      await third.goto(`${desk.base}#/stack/${id}`);
      await third.getByRole("textbox", { name: "Name" }).fill("dropped.tif");
      await third.getByRole("button", { name: "Stack", exact: true }).click();
      await third.getByRole("button", { name: /^Cancel/ }).first().click();
      await third.getByText(/Cancelled/).first().waitFor({ timeout: 20_000 });
      await second.getByRole("link", { name: "Tune kept.tif" }).waitFor({ timeout: 120_000 });
      const files = fs.readdirSync(path.join(desk.folder, "results"));
      assert.ok(files.includes("kept.tif"), `${files}`);
      assert.deepEqual(files.filter((name) => name.startsWith("dropped")), []);
    });
  });

  test("an option that is as proposed again leaves the focus at its field, and starts nothing", async () => {
    const { id } = await desk.capture("ground.mkv");
    const before = (await jobs()).length;
    await opened(browser, desk, `#/stack/${id}`, {}, async (page) => {
      const group = page.locator("details.group").filter({ hasText: "Brightness" });
      const shut = group.getByLabel("Tone", { exact: true });
      for (const [field, value] of [[page.getByLabel("Finish", { exact: true }), "none"], [shut, "gamma"]]) {
        if (field === shut) await group.locator("summary").click();
        await field.selectOption(value);
        if (field === shut) await group.locator("summary").click();
        await page.getByRole("button", { name: / as proposed$/ }).press("Enter");
        assert.ok(await field.evaluate((element) => element === document.activeElement));
        await page.keyboard.press("Enter");
        await page.keyboard.press("Escape");
      }
      await page.waitForTimeout(300);
      assert.match(page.url(), /#\/stack\//);
    });
    assert.equal((await jobs()).length, before);
  });

  test("says at the option what is wrong with it, and starts nothing", async () => {
    const { id } = await desk.capture("ground.mkv");
    const before = (await jobs()).length;
    await opened(browser, desk, `#/stack/${id}`, { allowed: /400/ }, async (page) => {
      await page.getByLabel("Keep", { exact: true }).selectOption({ label: "another value" });
      await page.getByRole("textbox", { name: "Keep: another value" }).fill("lots");
      await page.getByRole("button", { name: "Stack", exact: true }).click();
      await page.locator(".option .trouble:not([hidden])").getByText(/keep/).waitFor();
      assert.equal((await jobs()).length, before);
    });
  });
});

describe("a desk that ends", () => {
  test("is said on the page, which goes on when the desk does not", async () => {
    const other = await startDesk(folderOf({ "ground.mkv": "highland.mkv" }));
    await opened(browser, other, "#/", { allowed: /Failed to load|ERR_/ }, async (page) => {
      await page.getByRole("link", { name: "ground.mkv" }).waitFor();
      await other.stop();
      await page.getByRole("alert").getByText("The desk does not answer.").waitFor({ timeout: 20_000 });
    });
    fs.rmSync(other.folder, { recursive: true });
  });
});
