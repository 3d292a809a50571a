// What the pages use of the vendored OpenSeadragon.
interface TileViewer {
  viewport: {
    zoomBy(times: number): void; zoomTo(zoom: number): void; goHome(): void; applyConstraints(): void; imageToViewportZoom(imageZoom: number): number;
  };
  destroy(): void;
}
declare function OpenSeadragon(options: object): TileViewer;
