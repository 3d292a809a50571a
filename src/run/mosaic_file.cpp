#include "run/mosaic_file.h"

#include "run/linear_file.h"

namespace lull::run {

namespace {

constexpr int kFrcWindowPx = 1024;
constexpr std::size_t kFrcWindows = 16;

std::vector<files::FitsCanvasPart> parts_of_mosaic(const mosaic::Blending& plan) {
  std::vector<files::FitsCanvasPart> parts;
  if (plan.has_halves) parts.push_back(noise_part(plan.mosaic, plan.channels));
  parts.push_back(cover_part(plan.mosaic));
  return parts;
}

}  // namespace

MosaicFile::MosaicFile(const std::filesystem::path& path, const mosaic::Blending& plan,
                       const std::vector<files::Card>& cards)
    : channels_(plan.channels),
      has_halves_(plan.has_halves),
      coverage_(plan.mosaic),
      canvas_(path, plan.mosaic, plan.channels, linear_metadata(cards), parts_of_mosaic(plan)) {}

void MosaicFile::put(const mosaic::Tile& tile) {
  const Box& box = tile.box;
  for (std::size_t c = 0; c < channels_; ++c)
    canvas_.write(0, c, box.x0, box.y0, tile.channels[c].light.view());
  for (std::size_t c = 0; has_halves_ && c < channels_; ++c)
    canvas_.write(1, c, box.x0, box.y0, tile.channels[c].noise.view());
  canvas_.write(has_halves_ ? 2 : 1, 0, box.x0, box.y0, tile.covered.view());
  coverage_.add(tile.covered.view(), box.x0, box.y0);
}

spectrum::FrcCurve MosaicFile::frc() {
  spectrum::FrcSums sums;
  for (const Box& window : coverage_.windows(kFrcWindowPx, kFrcWindows)) {
    const auto mean = [&](std::size_t image) {
      std::vector<Plane> planes;
      std::vector<PlaneView> views;
      for (std::size_t c = 0; c < channels_; ++c) planes.push_back(canvas_.read(image, c, window));
      for (const Plane& plane : planes) views.push_back(plane.view());
      return mean_plane(views);
    };
    const Plane whole = mean(0);
    const Plane half = mean(1);
    sums.add(weighted_sum(whole.view(), 1, half.view()).view(),
             weighted_sum(whole.view(), -1, half.view()).view());
  }
  return sums.curve();
}

void MosaicFile::commit(const finish::Measurements& curves) {
  canvas_.commit(has_halves_ ? tables_of(curves) : std::vector<files::FitsTable>());
}

double bytes_on_disk(Size mosaic, std::size_t channels, bool has_halves) {
  const double planes = static_cast<double>(channels) * (has_halves ? 2 : 1) + 1;
  return planes * sizeof(float) * static_cast<double>(mosaic.area_px());
}

}  // namespace lull::run
