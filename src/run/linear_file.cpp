#include "run/linear_file.h"

#include <fmt/format.h>

#include <charconv>
#include <map>

#include "core/error.h"
#include "files/fits.h"
#include "files/fits_cards.h"
#include "finish/detail.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

constexpr const char* kWeight = "WEIGHT";
constexpr const char* kMargin = "MARGIN";
constexpr const char* kMarginX = "MARGINX";
constexpr const char* kMarginY = "MARGINY";
constexpr const char* kCover = "COVER";
constexpr const char* kNoise = "NOISE";
constexpr const char* kFrc = "FRC";
constexpr const char* kRatio = "RATIO";
constexpr const char* kSampling = "SAMPLING";
constexpr const char* kNoiseMeaning = "half the difference of the half stacks: noise of the stack";
constexpr const char* kCoverMeaning = "1 where a panel of the mosaic shows something";
constexpr const char* kPerPixel = "cycles/pixel";

files::FitsTable frc_table(const spectrum::FrcCurve& frc) {
  files::FitsTable table{
      kFrc, {{"FREQUENCY", kPerPixel, {}}, {"CORRELATION", "", {}}, {"SAMPLES", "", {}}}};
  for (const auto& ring : frc.rings) {
    table.columns[0].values.push_back(ring.frequency);
    table.columns[1].values.push_back(ring.correlation);
    table.columns[2].values.push_back(ring.samples);
  }
  return table;
}

files::FitsTable ratio_table(const std::vector<spectrum::RatioRing>& rings) {
  files::FitsTable table{kRatio,
                         {{"FREQUENCY", kPerPixel, {}},
                          {"KEPT_POWER", "", {}},
                          {"FRAME_POWER", "", {}},
                          {"FRAME_NOISE", "", {}},
                          {"SMOOTHING", "", {}},
                          {"MEAN_POWER", "", {}},
                          {"CAPTURE_POWER", "", {}},
                          {"CAPTURE_NOISE", "", {}},
                          {"CAPTURE_MEAN_POWER", "", {}}}};
  for (const auto& ring : rings) {
    table.columns[0].values.push_back(ring.frequency);
    table.columns[1].values.push_back(ring.kept_power);
    table.columns[2].values.push_back(ring.frame_power);
    table.columns[3].values.push_back(ring.frame_noise);
    table.columns[4].values.push_back(ring.smoothing);
    table.columns[5].values.push_back(ring.mean_power);
    table.columns[6].values.push_back(ring.capture_power);
    table.columns[7].values.push_back(ring.capture_noise);
    table.columns[8].values.push_back(ring.capture_mean_power);
  }
  return table;
}

files::FitsTable sampling_table(const std::vector<spectrum::FilterPoint>& points) {
  files::FitsTable table{kSampling, {{"FREQUENCY", kPerPixel, {}}, {"TRANSFER", "", {}}}};
  for (const auto& point : points) {
    table.columns[0].values.push_back(point.frequency);
    table.columns[1].values.push_back(point.gain);
  }
  return table;
}

files::FitsImage effective_frames_image(const stack::NodeMap& nodes) {
  return {"NEFF",
          "how many frames count at each place",
          {{nodes.values.view()}},
          {{"BUNIT", std::string("frames"), "(sum of weights)^2 / (sum of squared weights)"},
           {"NODESTEP", nodes.step_px, "[px] of the picture from node to node"},
           {"NODEX0", nodes.x0_px, "[px] first node; 0 = middle of the first pixel"},
           {"NODEY0", nodes.y0_px, "[px] first node; 0 = middle of the top row"}}};
}

files::FitsImage margin_image(const finish::Surroundings& surroundings) {
  files::FitsImage image{kMargin, "the stack with what the frames show beyond its edges", {}};
  for (const Plane& plane : surroundings.channels) image.picture.channels.push_back(plane.view());
  return image;
}

InputError does_not_fit(const std::filesystem::path& path, const char* part) {
  return InputError(fmt::format(
      "cannot use '{}': its extension {} does not fit its picture; use the linear stack as `lull "
      "stack` wrote it, or take the picture alone out of it",
      path.string(), part));
}

// The columns of a table, in this order.
std::vector<const std::vector<double>*> columns_of(const std::filesystem::path& path,
                                                   const files::FitsTable& table,
                                                   const std::vector<const char*>& names) {
  std::vector<const std::vector<double>*> out;
  for (const char* name : names) {
    out.push_back(table.find(name));
    if (out.back() == nullptr) throw does_not_fit(path, table.name.c_str());
  }
  return out;
}

spectrum::FrcCurve frc_of(const std::filesystem::path& path, const files::FitsTable& table) {
  const auto columns = columns_of(path, table, {"FREQUENCY", "CORRELATION", "SAMPLES"});
  spectrum::FrcCurve frc;
  double before = -1;
  for (std::size_t i = 0; i < columns[0]->size(); ++i) {
    frc.rings.push_back({(*columns[0])[i], (*columns[1])[i], (*columns[2])[i]});
    if (!(frc.rings.back().frequency > before)) throw does_not_fit(path, kFrc);
    before = frc.rings.back().frequency;
  }
  return frc;
}

// SMOOTHING, MEAN_POWER and CAPTURE_... came later than the others.
std::vector<spectrum::RatioRing> ratio_of(const std::filesystem::path& path,
                                          const files::FitsTable& table) {
  const auto columns =
      columns_of(path, table, {"FREQUENCY", "KEPT_POWER", "FRAME_POWER", "FRAME_NOISE"});
  const auto later = [&table](const char* name, std::size_t i, double otherwise) {
    const std::vector<double>* column = table.find(name);
    return column != nullptr ? (*column)[i] : otherwise;
  };
  std::vector<spectrum::RatioRing> rings;
  for (std::size_t i = 0; i < columns[0]->size(); ++i) {
    rings.push_back({(*columns[0])[i], (*columns[1])[i], (*columns[2])[i], (*columns[3])[i],
                     later("MEAN_POWER", i, 0), later("SMOOTHING", i, 1),
                     later("CAPTURE_POWER", i, 0), later("CAPTURE_NOISE", i, 0),
                     later("CAPTURE_MEAN_POWER", i, 0)});
  }
  return rings;
}

std::vector<spectrum::FilterPoint> sampling_of(const std::filesystem::path& path,
                                               const files::FitsTable& table) {
  const auto columns = columns_of(path, table, {"FREQUENCY", "TRANSFER"});
  std::vector<spectrum::FilterPoint> points;
  double before = -1;
  for (std::size_t i = 0; i < columns[0]->size(); ++i) {
    points.push_back({(*columns[0])[i], (*columns[1])[i]});
    if (!(points.back().frequency > before)) throw does_not_fit(path, kSampling);
    before = points.back().frequency;
  }
  return points;
}

// Where the picture lies in the image MARGIN; -1: the header does not say.
int margin_at(const std::map<std::string, std::string>& cards, const char* key) {
  const auto card = cards.find(key);
  int value = -1;
  if (card == cards.end()) return value;
  const std::string& text = card->second;
  const auto [stop, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc() ? value : -1;
}

// Files of earlier versions have none.
std::optional<finish::Surroundings> surroundings_of(const std::filesystem::path& path,
                                                    std::size_t channels, Size size) {
  auto image = files::read_fits_image(path, kMargin);
  if (!image) return std::nullopt;
  const auto cards = files::read_fits_cards(path, {kMarginX, kMarginY});
  const int x = margin_at(cards, kMarginX);
  const int y = margin_at(cards, kMarginY);
  const Size all = image->size();
  if (image->channels.size() != channels || x < 0 || y < 0 || x > all.width_px - size.width_px ||
      y > all.height_px - size.height_px)
    throw does_not_fit(path, kMargin);
  return finish::Surroundings{std::move(image->channels),
                              {x, y, x + size.width_px, y + size.height_px}};
}

}  // namespace

finish::Measurements measurements_of(const stack::StackResult& result) {
  finish::Measurements measured;
  const auto add = [&](const Plane(&halves)[2]) {
    measured.noise.push_back(finish::half_difference(halves[0].view(), halves[1].view()));
  };
  for (const stack::ColourResult& colour : result.colours) add(colour.halves);
  if (result.colours.empty()) add(result.halves);
  for (std::size_t c = 0; result.enlarged && c < result.enlarged->weights.size(); ++c)
    measured.weight.push_back(Plane::copy_of(result.enlarged->weights[c].view()));
  if (!result.surroundings.channels.empty()) {
    finish::Surroundings& around = measured.surroundings.emplace();
    around.picture = result.surroundings.picture;
    for (const Plane& plane : result.surroundings.channels)
      around.channels.push_back(Plane::copy_of(plane.view()));
  }
  measured.frc = result.frc;
  measured.ratio = result.ratio;
  measured.sampling = result.sampling;
  return measured;
}

files::FitsParts parts_of(const finish::Measurements& measured,
                          const stack::NodeMap& effective_frames) {
  files::FitsParts parts;
  if (!measured.weight.empty()) {
    files::FitsImage weight{kWeight, "sum of weights of the drops that fell on each pixel", {}};
    for (const Plane& plane : measured.weight) weight.picture.channels.push_back(plane.view());
    parts.images.push_back(std::move(weight));
  }
  files::FitsImage noise{kNoise, kNoiseMeaning, {}};
  for (const Plane& plane : measured.noise) noise.picture.channels.push_back(plane.view());
  parts.images.push_back(std::move(noise));
  if (!measured.covered.empty()) {
    parts.images.push_back({kCover, kCoverMeaning, {{measured.covered.view()}}});
  }
  if (measured.surroundings) parts.images.push_back(margin_image(*measured.surroundings));
  if (!effective_frames.values.empty())
    parts.images.push_back(effective_frames_image(effective_frames));
  parts.tables = tables_of(measured);
  return parts;
}

std::vector<files::FitsTable> tables_of(const finish::Measurements& measured) {
  std::vector<files::FitsTable> tables = {frc_table(measured.frc)};
  if (!measured.ratio.empty()) tables.push_back(ratio_table(measured.ratio));
  if (!measured.sampling.empty()) tables.push_back(sampling_table(measured.sampling));
  return tables;
}

files::FitsCanvasPart noise_part(Size size, std::size_t channels) {
  return {kNoise, kNoiseMeaning, size, channels};
}

files::FitsCanvasPart cover_part(Size size) { return {kCover, kCoverMeaning, size}; }

files::Metadata linear_metadata(const std::vector<files::Card>& cards) {
  files::Metadata metadata;
  metadata.description = describe_stack(cards, StackDetail::as_stacked);
  metadata.cards = cards;
  metadata.cards.push_back({"FINISH", std::string("none"), "detail restoration"});
  return metadata;
}

void write_linear(const std::filesystem::path& path, const files::PictureView& picture,
                  const std::vector<files::Card>& cards, const finish::Measurements& measured,
                  const stack::NodeMap& effective_frames) {
  files::Metadata metadata = linear_metadata(cards);
  if (measured.surroundings) {
    const Box& inside = measured.surroundings->picture;
    metadata.cards.push_back(
        {kMarginX, std::int64_t{inside.x0}, "[px] first column of the picture in MARGIN"});
    metadata.cards.push_back(
        {kMarginY, std::int64_t{inside.y0}, "[px] top row of the picture in MARGIN"});
  }
  files::write_fits_float(path, picture, metadata, parts_of(measured, effective_frames));
}

std::optional<finish::Measurements> read_curves(const std::filesystem::path& path) {
  const auto frc = files::read_fits_table(path, kFrc);
  if (!frc) return std::nullopt;
  finish::Measurements measured;
  measured.frc = frc_of(path, *frc);
  if (const auto ratio = files::read_fits_table(path, kRatio))
    measured.ratio = ratio_of(path, *ratio);
  if (const auto sampling = files::read_fits_table(path, kSampling))
    measured.sampling = sampling_of(path, *sampling);
  return measured;
}

std::optional<finish::Measurements> read_measurements(const std::filesystem::path& path,
                                                      std::size_t channels, Size size) {
  auto noise = files::read_fits_image(path, kNoise);
  auto measured = read_curves(path);
  if (!noise || !measured) return std::nullopt;
  if (noise->channels.size() != channels || noise->size() != size) throw does_not_fit(path, kNoise);
  measured->noise = std::move(noise->channels);
  measured->surroundings = surroundings_of(path, channels, size);
  if (auto cover = files::read_fits_image(path, kCover)) {
    if (cover->channels.size() != 1 || cover->size() != size) throw does_not_fit(path, kCover);
    measured->covered = std::move(cover->channels.front());
  }
  return measured;
}

}  // namespace lull::run
