// What the pages use of the vendored uPlot.
declare class uPlot {
  constructor(options: object, data: (number | null)[][], place: Element);
  cursor: { idx: number | null };
  destroy(): void;
}
