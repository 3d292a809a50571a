// How a picture is held before the eye: flipped first, then turned clockwise, about the middle of the
// stage. Also moves points between the picture as it lies on the stage and as it is seen.

/** @typedef {{x: number, y: number}} Point */

/** @param {number} degrees */
const radians = (degrees) => (degrees * Math.PI) / 180;

export class Pose {
  /** @param {import("./types.js").Chosen} chosen options of a finish */
  constructor(chosen = {}) {
    this.turn = radians(Number(chosen["--rotate"] ?? 0));
    this.acrossX = chosen["--flip"] === "left-right" ? -1 : 1;
    this.acrossY = chosen["--flip"] === "top-bottom" ? -1 : 1;
  }

  /** A way from the middle as it is seen. @param {Point} way as the picture lies @returns {Point} */
  seen({ x, y }) {
    const [cos, sin] = [Math.cos(this.turn), Math.sin(this.turn)];
    const [across, down] = [x * this.acrossX, y * this.acrossY];
    return { x: cos * across - sin * down, y: sin * across + cos * down };
  }

  /** @param {Point} way as it is seen @returns {Point} as the picture lies */
  lying({ x, y }) {
    const [cos, sin] = [Math.cos(this.turn), Math.sin(this.turn)];
    return { x: (cos * x + sin * y) * this.acrossX, y: (cos * y - sin * x) * this.acrossY };
  }

  /** The upright frame around it. @param {number} width @param {number} height @returns {[number, number]} */
  around(width, height) {
    const [cos, sin] = [Math.abs(Math.cos(this.turn)), Math.abs(Math.sin(this.turn))];
    return [width * cos + height * sin, height * cos + width * sin];
  }

  /** What is drawn from now on is in this pose. @param {CanvasRenderingContext2D} context @param {number} width @param {number} height of the canvas */
  apply(context, width, height) {
    context.translate(width / 2, height / 2);
    context.rotate(this.turn);
    context.scale(this.acrossX, this.acrossY);
    context.translate(-width / 2, -height / 2);
  }
}
