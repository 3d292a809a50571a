#include "run/master_file.h"

#include <fmt/format.h>

#include <array>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <utility>

#include "core/error.h"
#include "files/fits.h"
#include "files/fits_cards.h"
#include "files/picture_file.h"

namespace lull::run {

namespace {

using calibrate::Master;
using calibrate::MasterKind;
using capture::CaptureInfo;
using capture::Cfa;
using capture::Colour;

/// The card that marks a master, with the kind as value.
constexpr const char* kKind = "MASTER";

constexpr std::array kColours = {Colour::mono, Colour::cfa, Colour::rgb, Colour::yuv, Colour::luma};
constexpr std::array kCfas = {Cfa::none, Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg};

[[nodiscard]] files::Metadata metadata_of(const KeptMaster& kept, MasterKind kind,
                                          const std::string& history) {
  const Master& master = kept.master;
  const CaptureInfo& info = master.source;
  files::Metadata metadata;
  metadata.description = history;
  metadata.cards = {
      {kKind, std::string(kind_name(kind)), "what the frames show"},
      {"FRAMES", master.frames, "frames combined"},
      {"DAMAGED", master.damaged, "frames left out as damaged"},
      {"DARKSUB", master.dark_subtracted, "the dark of the flat is taken off"},
      {"COLOUR", std::string(capture::colour_name(info.colour)), "meaning of the samples"},
      {"CFA", std::string(capture::cfa_name(info.cfa)), "colour filters at the top left"},
      {"STOREBIT", static_cast<std::int64_t>(info.bits.stored), "bits of a stored sample"},
      {"TRUEBIT", static_cast<std::int64_t>(info.bits.used), "bits of the sensor"},
      {"HIGHEND", info.bits.high_aligned, "these stand at the high end of the sample"},
      {"USEDBIT", static_cast<std::int64_t>(master.used_bits), "bits set in any sample, together"},
      {"FULLSCAL", info.full_scale, "saturation, in stored units"},
      {"BLACKLEV", info.scale.black, "black, in stored units"},
      {"BUNIT", std::string("adu"), "stored units of the frames"}};
  if (info.times.exposure_s > 0)
    metadata.cards.push_back({"EXPTIME", info.times.exposure_s, "[s] exposure of a frame"});
  if (kept.noise) {
    metadata.cards.push_back({"PAIRMEAN", kept.noise->mean_adu, "level of single frames, ADU"});
    metadata.cards.push_back(
        {"PAIRVAR", kept.noise->variance_adu2, "variance of single frames, ADU2"});
    metadata.cards.push_back({"PAIRSAMP", kept.noise->samples, "samples of that variance"});
  }
  return metadata;
}

/// The cards of a master, each of which must be there and make sense.
class Cards {
 public:
  explicit Cards(const std::filesystem::path& path)
      : path_(path),
        cards_(files::read_fits_cards(
            path, {kKind, "FRAMES", "DAMAGED", "DARKSUB", "COLOUR", "CFA", "STOREBIT", "TRUEBIT",
                   "HIGHEND", "EXPTIME", "USEDBIT", "FULLSCAL", "BLACKLEV", "PAIRMEAN", "PAIRVAR",
                   "PAIRSAMP"})) {}

  [[nodiscard]] bool has(const std::string& key) const { return cards_.contains(key); }

  [[nodiscard]] const std::string& text(const std::string& key) const {
    const auto found = cards_.find(key);
    if (found == cards_.end()) throw bad(key, "is missing");
    return found->second;
  }

  [[nodiscard]] bool flag(const std::string& key) const { return text(key) == "T"; }

  [[nodiscard]] double number(const std::string& key, double lowest, double highest) const {
    const std::string& word = text(key);
    char* end = nullptr;
    const double value = std::strtod(word.c_str(), &end);
    if (end == word.c_str() || !(value >= lowest && value <= highest)) {
      throw bad(key, fmt::format("is {}, which makes no sense", word));
    }
    return value;
  }

  [[nodiscard]] std::int64_t whole(const std::string& key, double lowest, double highest) const {
    return static_cast<std::int64_t>(number(key, lowest, highest));
  }

  /// The value that `name_of` gives this card's word to.
  template <class Values, class NameOf>
  [[nodiscard]] auto named(const std::string& key, const Values& values,
                           const NameOf& name_of) const {
    for (const auto value : values) {
      if (name_of(value) == text(key)) return value;
    }
    throw bad(key, fmt::format("is {}, which makes no sense", text(key)));
  }

 private:
  [[nodiscard]] InputError bad(const std::string& key, const std::string& what) const {
    return InputError(
        fmt::format("{}: the card {} of this master {}. Make the master again with lull master.",
                    path_.string(), key, what));
  }

  std::filesystem::path path_;
  std::map<std::string, std::string> cards_;
};

[[nodiscard]] CaptureInfo info_from(const Cards& cards, const std::string& path) {
  CaptureInfo info;
  info.path = path;
  info.storage.container = "fits";
  info.storage.codec = "fits";
  info.colour = cards.named("COLOUR", kColours, capture::colour_name);
  info.cfa = cards.named("CFA", kCfas, capture::cfa_name);
  info.bits.stored = cards.whole("STOREBIT", 8, 16) > 8 ? 16 : 8;
  info.bits.used = static_cast<int>(cards.whole("TRUEBIT", 1, 16));
  info.bits.high_aligned = cards.flag("HIGHEND");
  info.full_scale = cards.number("FULLSCAL", 1, 65535);
  info.scale.black = cards.number("BLACKLEV", 0, 65535);
  info.scale.per_unit = 1 / (info.full_scale - info.scale.black);
  if (cards.has("EXPTIME")) info.times.exposure_s = cards.number("EXPTIME", 0, 86400);
  info.sample_type = info.bits.stored == 8 ? SampleType::u8 : SampleType::u16;
  return info;
}

[[nodiscard]] KeptMaster read_kept(const std::string& path, const Cards& cards) {
  KeptMaster kept;
  Master& master = kept.master;
  files::PictureFile file = files::read_picture(path);
  master.source = info_from(cards, path);
  master.source.size = file.picture.size();
  master.planes = std::move(file.picture.channels);
  if ((master.source.colour == Colour::rgb) != (master.planes.size() == 3)) {
    throw InputError(
        fmt::format("{}: this master has {} planes, but its header states {}. Make it again with "
                    "lull master.",
                    path, master.planes.size(), capture::colour_name(master.source.colour)));
  }
  master.frames = cards.whole("FRAMES", 1, 1e9);
  master.damaged = cards.whole("DAMAGED", 0, 1e9);
  master.dark_subtracted = cards.flag("DARKSUB");
  master.used_bits = static_cast<unsigned>(cards.whole("USEDBIT", 0, 65535));
  if (cards.has("PAIRVAR")) {
    kept.noise = {cards.number("PAIRMEAN", 0, 65535), cards.number("PAIRVAR", 0, 4e9),
                  cards.whole("PAIRSAMP", 1, 1e12)};
  }
  return kept;
}

void check_kind(const std::string& path, const std::string& kind, MasterKind wanted) {
  const bool is_flat = kind == kind_name(MasterKind::flat);
  if (is_flat == (wanted == MasterKind::flat)) return;
  throw InputError(
      fmt::format("{}: this master is a {}, but a {} is wanted here. Check that the files are not "
                  "exchanged.",
                  path, kind, kind_name(wanted)));
}

}  // namespace

void write_master(const std::filesystem::path& path, const KeptMaster& kept, MasterKind kind,
                  const std::string& history) {
  files::PictureView picture;
  for (const Plane& plane : kept.master.planes) picture.channels.push_back(plane.view());
  files::write_fits_float(path, picture, metadata_of(kept, kind, history));
}

KeptMaster load_master(const std::string& path, MasterKind wanted, const Progress& progress,
                       const capture::OpenOptions& options) {
  if (files::is_fits(path)) {
    const Cards cards(path);
    if (cards.has(kKind)) {
      check_kind(path, cards.text(kKind), wanted);
      return read_kept(path, cards);
    }
  }
  return {calibrate::read_master(path, progress, options), std::nullopt};
}

}  // namespace lull::run
