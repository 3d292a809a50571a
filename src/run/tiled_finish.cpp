#include "run/tiled_finish.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "core/error.h"
#include "files/picture_bands.h"
#include "files/picture_file.h"
#include "finish/limb.h"
#include "finish/uncovered.h"
#include "run/reduction.h"
#include "run/sky_window.h"

namespace lull::run {

namespace {

constexpr int kTilePx = 1536;
// As far as the coarsest wavelet plane and the mean of its power reach, see finish/detail.
constexpr int kApronPx = 256;
constexpr double kReducedPx = 12e6;
constexpr int kSamplePx = 1024;        // side of the part that tells noise or air
constexpr double kPlanesAtWork = 28;   // of a tile, finish_input.cpp
constexpr double kPlanesAChannel = 6;  // stack, noise, restored, written
constexpr double kPlanesReduced = 6;   // of each channel: sums, means, before and after, filled

Box whole_of(Size size) { return {0, 0, size.width_px, size.height_px}; }

Box grown(const Box& box, int by) { return {box.x0 - by, box.y0 - by, box.x1 + by, box.y1 + by}; }

Box moved(const Box& box, int x, int y) { return {box.x0 + x, box.y0 + y, box.x1 + x, box.y1 + y}; }

bool any_of(PlaneView plane, bool (*is)(float)) {
  for (int y = 0; y < plane.height_px; ++y) {
    const float* row = plane.row(y);
    if (std::any_of(row, row + plane.width_px, is)) return true;
  }
  return false;
}

// Goes on smoothly where nothing is shown.
void fill_uncovered(LargeInput::Part& part) {
  if (!any_of(part.covered.view(), [](float v) { return v <= 0; })) return;
  for (Plane& channel : part.light.channels)
    channel = finish::continued_over(std::as_const(channel).view(), part.covered.view());
}

// What the curves say, with the noise of a part.
finish::Measurements measured_of(const finish::Measurements& rest, LargeInput::Part& part) {
  finish::Measurements out;
  out.noise = std::move(part.noise);
  out.white_noise = rest.white_noise;
  out.frc = rest.frc;
  out.ratio = rest.ratio;
  out.sampling = rest.sampling;
  return out;
}

// On the grid of the whole.
std::vector<finish::FrcSquare> places_of(const LargeInput::Part& part, const Box& box) {
  if (part.noise.empty()) return {};
  std::vector<PlaneView> noise;
  for (const Plane& plane : part.noise) noise.push_back(plane.view());
  return finish::frc_by_place(part.light.view().channels, noise, part.covered.view(), box.x0,
                              box.y0);
}

// What concerns the whole picture.
struct Whole {
  finish::DetailPlan plan;
  finish::Measurements curves;
  ColourBalance balance;
  std::optional<Circle> limb;                        ///< px of the picture
  std::vector<std::optional<finish::LimbLaw>> laws;  ///< of each channel, where there is one
};

class TiledFinisher {
 public:
  TiledFinisher(LargeInput& input, const Look& look, const Progress& progress)
      : input_(input), look_(look), progress_(progress) {}

  TiledFinished finished(const std::filesystem::path& beside) {
    out_.size = input_.size();
    settle_whole();
    out_.light = std::make_unique<files::FitsCanvas>(beside, input_.size(), input_.channels(),
                                                     files::Metadata{});
    Reduction reduction(input_.size(), input_.channels(), kReducedPx);
    PixelSample sample(input_.size(), input_.channels());
    const std::vector<Box> tiles = tiles_of();
    double brightest = 0;
    for (std::size_t i = 0; i < tiles.size(); ++i) {
      progress_.step("restoring detail", static_cast<std::int64_t>(i), std::ssize(tiles));
      const Box& box = tiles[i];
      Finished tile;
      const Plane covered = finish_tile(box, tile);
      if (covered.empty()) continue;
      brightest = std::max(brightest, brightest_of(tile.picture));
      for (std::size_t c = 0; c < tile.picture.channels.size(); ++c) {
        out_.light->write(0, c, box.x0, box.y0, std::as_const(tile.picture.channels[c]).view());
      }
      reduction.add(tile.picture.view(), covered.view(), box.x0, box.y0);
      sample.add(tile.picture.view(), box.x0, box.y0);
    }
    settle_tone(look_, finish::levels_of(sample.picture().view().channels), brightest,
                out_.finished);
    out_.picture = reduction.picture();
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::vector<Box> tiles_of() const {
    std::vector<Box> tiles;
    const Size size = input_.size();
    for (int y = 0; y < size.height_px; y += kTilePx)
      for (int x = 0; x < size.width_px; x += kTilePx)
        tiles.push_back(Box{x, y, x + kTilePx, y + kTilePx}.intersection(whole_of(size)));
    return tiles;
  }

  // By the reduced picture, and by a part of the full one.
  void settle_whole() {
    const Size size = input_.size();
    Reduction reduction(size, input_.channels(), kReducedPx);
    for (int y = 0; y < size.height_px; y += files::kBandRows) {
      progress_.step("restoring detail", 0, 1);
      const int end = std::min(y + files::kBandRows, size.height_px);
      const LargeInput::Part band = input_.read_light({0, y, size.width_px, end});
      reduction.add(band.light.view(), band.covered.view(), 0, y);
    }
    out_.side = reduction.side();
    out_.stack = reduction.picture();
    const Plane covered = reduction.covered();
    files::Picture shown;
    for (const Plane& channel : out_.stack.channels) {
      Plane mask(covered.size());
      for (int y = 0; y < mask.height(); ++y)
        for (int x = 0; x < mask.width(); ++x) mask.row(y)[x] = covered.row(y)[x] > 0 ? 1.0F : 0.0F;
      shown.channels.push_back(finish::continued_over(channel.view(), mask.view()));
    }
    whole_.balance = colour_balance(look_, shown.view());
    if (look_.limb == LimbLight::flattened) settle_limb(shown.view());
    settle_detail(shown.view(), covered);
  }

  void settle_limb(const files::PictureView& shown) {
    const Circle limb = limb_to_flatten(shown);
    for (const PlaneView& channel : shown.channels)
      whole_.laws.push_back(finish::limb_law(channel, limb));
    const double side = out_.side;
    const auto full = [side](double px) { return (px + 0.5) * side - 0.5; };
    whole_.limb = Circle{full(limb.x_px), full(limb.y_px), side * limb.radius_px};
    out_.finished.figures["limb"] = limb_json(*whole_.limb);
  }

  void settle_detail(const files::PictureView& shown, const Plane& covered) {
    const finish::Measurements& rest = input_.rest.measured;
    whole_.plan = detail_plan(look_);
    whole_.curves.frc = rest.frc;
    whole_.curves.ratio = rest.ratio;
    whole_.curves.sampling = rest.sampling;
    const SkyWindow window = sky_window(shown, covered.view(), out_.side, input_.size(), kSamplePx);
    LargeInput::Part part = input_.read(window.box);
    fill_uncovered(part);
    const std::vector<PlaneView> channels = part.light.view().channels;
    if (!input_.has_halves()) {
      finish::Measurements own = finish::measurements_of_picture(channels);
      whole_.curves.white_noise = std::move(own.white_noise);
      whole_.curves.frc = std::move(own.frc);
    }
    if (!std::holds_alternative<finish::UndoAir>(whole_.plan.how)) return;
    if (!window.has_sky) {
      whole_.plan.how = finish::air_of_field(whole_.curves, channels.size());
      return;
    }
    const finish::Measurements measured = measured_of(whole_.curves, part);
    finish::PreparedRestoration prepared(channels, measured,
                                         finish::PreparedRestoration::Keep::nothing);
    whole_.plan.how = prepared.air();
  }

  // @return what of the tile is covered; empty: nothing is, and nothing was done.
  Plane finish_tile(const Box& box, Finished& out) {
    const Box around = grown(box, kApronPx).intersection(whole_of(input_.size()));
    LargeInput::Part part = input_.read(around);
    const Box inner = moved(box, -around.x0, -around.y0);
    const PlaneView inside = std::as_const(part.covered).view().crop(inner);
    if (!any_of(inside, [](float v) { return v > 0; })) return {};
    fill_uncovered(part);
    std::vector<finish::FrcSquare> places = places_of(part, around);
    finish::Measurements measured = measured_of(whole_.curves, part);
    measured.places = std::move(places);
    finish::Restored restored = finish::restore(part.light.view().channels, measured, whole_.plan);
    add_detail_figures(restored, out_.finished.figures);
    out.picture.channels = std::move(restored.channels);
    finish_channels(look_, out);
    if (whole_.limb) {
      const Circle limb = {whole_.limb->x_px - around.x0, whole_.limb->y_px - around.y0,
                           whole_.limb->radius_px};
      for (std::size_t c = 0; c < out.picture.channels.size(); ++c)
        if (whole_.laws[c]) finish::divide_by(out.picture.channels[c], limb, *whole_.laws[c]);
    }
    for (Plane& channel : out.picture.channels)
      channel = Plane::copy_of(std::as_const(channel).view().crop(inner));
    finish_colours(look_, whole_.balance, out);
    if (out.figures.contains("white_balance"))
      out_.finished.figures["white_balance"] = out.figures["white_balance"];
    for (Plane& channel : out.picture.channels) finish::clear_uncovered(channel, inside);
    require_finite(out.picture);
    return Plane::copy_of(inside);
  }

  LargeInput& input_;
  const Look& look_;
  const Progress& progress_;
  Whole whole_;
  TiledFinished out_;
};

}  // namespace

void check_tiled_look(const Look& look, Size size) {
  if (finish::keeps_samples(look.pose)) return;
  throw UsageError(
      fmt::format("--rotate: a mosaic of {} x {} pixels is finished in parts, and can be turned by "
                  "90, 180 or 270 degrees only; leave out the option, or turn it another way",
                  size.width_px, size.height_px));
}

TiledFinished finish_in_tiles(LargeInput& input, const Look& look,
                              const std::filesystem::path& beside, const Progress& progress) {
  return TiledFinisher(input, look, progress).finished(beside);
}

files::Clipped write_tiled(const std::filesystem::path& path, TiledFinished& finished,
                           const std::vector<files::Card>& cards, const Look& look,
                           const Progress& progress) {
  const finish::Pose& pose = finished.finished.pose;
  files::PictureBands bands;
  bands.size = finish::posed_size(finished.size, pose);
  bands.channels = finished.picture.channels.size();
  files::Picture held;
  bands.rows = [&](int y0, int y1) {
    progress.step("writing", y0, bands.size.height_px);
    const Box box = finish::unposed({0, y0, bands.size.width_px, y1}, finished.size, pose);
    held.channels.clear();
    for (std::size_t c = 0; c < bands.channels; ++c) {
      const Plane part = finished.light->read(0, c, box);
      held.channels.push_back(finish::posed(part.view(), pose, 0));
    }
    finish::apply_tone(held.channels, look.tone, finished.finished.levels);
    return held.view();
  };
  return files::write_bands(path, bands, finished.finished.encoding,
                            finished_metadata(finished.finished, cards, look));
}

Finished reduced_finished(const TiledFinished& finished, const Look& look) {
  Finished out;
  for (const Plane& channel : finished.picture.channels)
    out.picture.channels.push_back(Plane::copy_of(channel.view()));
  finish::apply_tone(out.picture.channels, look.tone, finished.finished.levels);
  out.encoding = finished.finished.encoding;
  out.transfer = finished.finished.transfer;
  out.pose = finished.finished.pose;
  out.levels = finished.finished.levels;
  out.figures = finished.finished.figures;
  return out;
}

std::string reduced_note(const TiledFinished& finished, const Look& look) {
  return fmt::format("{} x {} pixels were finished in parts; the page{} {} them reduced {}-fold",
                     finished.size.width_px, finished.size.height_px,
                     look.share.empty() ? "" : " and the copy to share",
                     look.share.empty() ? "shows" : "show", finished.side);
}

std::vector<files::Card> reduced_cards(std::vector<files::Card> cards, int side) {
  for (files::Card& card : cards) {
    if (auto* scale = std::get_if<double>(&card.value); card.key == "PIXSCALE" && scale != nullptr)
      *scale *= side;
  }
  return cards;
}

double bytes_of_tiled_finish(Size size, std::size_t channels) {
  const double side = kTilePx + 2 * kApronPx;
  const auto count = static_cast<double>(channels);
  const double tile = side * side * (kPlanesAtWork + kPlanesAChannel * count);
  const double band = static_cast<double>(std::max(size.width_px, size.height_px)) *
                      files::kBandRows * (2 * count + 1);
  return sizeof(float) * (std::max(tile, band) + kReducedPx * kPlanesReduced * count);
}

double disk_of_tiled_finish(Size size, std::size_t channels) {
  return sizeof(float) * static_cast<double>(channels) * static_cast<double>(size.area_px());
}

}  // namespace lull::run
