#include "run/film_series.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/error.h"
#include "draw/annotate.h"
#include "files/fits_cards.h"
#include "finish/tone.h"
#include "merge/covered.h"
#include "merge/detail.h"
#include "merge/registration.h"
#include "run/memory_need.h"

namespace lull::run {

namespace {

constexpr int kLeastFilmSide = 16;
constexpr double kFilmPlanes = 24;
constexpr double kFilmPlanesAChannel = 5;
constexpr double kLightPx = 4;  // blur in which light is compared: noise has no say

// When it was recorded: DATE-AVG or DATE-OBS of a FITS file, to the second. Empty: not stated.
std::string moment_of(const std::string& path) {
  if (!files::is_fits(path)) return {};
  const auto cards = files::read_fits_cards(path, {"DATE-AVG", "DATE-OBS"});
  for (const char* key : {"DATE-AVG", "DATE-OBS"}) {
    const auto card = cards.find(key);
    if (card == cards.end() || card->second.size() < 19) continue;
    std::string moment = card->second.substr(0, 19);
    std::replace(moment.begin(), moment.end(), 'T', ' ');
    return moment + " UTC";
  }
  return {};
}

Size annotated_size(Size picture, const std::string& caption) {
  if (caption.empty()) return picture;
  const files::Picture line = files::make_picture({picture.width_px, 1}, 1);
  const int height = draw::annotated(line.view(), {caption, {}}).size().height_px;
  return {picture.width_px, picture.height_px + height - 1};
}

struct LightSums {
  double n = 0, r = 0, p = 0, rp = 0, pp = 0;

  void add(double reference, double picture) {
    ++n;
    r += reference;
    p += picture;
    rp += reference * picture;
    pp += picture * picture;
  }
};

}  // namespace

files::PictureFile FilmSeries::read(std::size_t picture) const {
  const std::string& path = request_.pictures[picture];
  files::PictureFile file = files::read_picture(path, [&](Size size, int channels) {
    const double bytes = (kFilmPlanes + kFilmPlanesAChannel * channels) * sizeof(float) *
                         static_cast<double>(size.area_px());
    require_memory(
        fmt::format("cannot animate '{}': {} x {} pixels", path, size.width_px, size.height_px),
        bytes, {}, "close other programs, or use smaller pictures");
  });
  if (file.has_alpha)
    throw InputError(fmt::format(
        "cannot animate '{}': it has transparent pixels; save it without transparency", path));
  return file;
}

void FilmSeries::check_alike(const files::PictureFile& file, std::size_t picture) const {
  const std::string& path = request_.pictures[picture];
  const std::string& first = request_.pictures[request_.pictures.size() / 2];
  if (file.picture.channels.size() != channels_) {
    throw UsageError(fmt::format("{} is {}, {} is {}: a film shows pictures of one kind", path,
                                 channels_ == 1 ? "in colour" : "gray", first,
                                 channels_ == 1 ? "gray" : "in colour"));
  }
  if (file.stretched != stretched_) {
    throw UsageError(fmt::format(
        "{} is {}, {} is {}: one curve does not fit both; give the linear stacks, or finish all of "
        "them alike",
        path, stretched_ ? "linear" : "stretched", first, stretched_ ? "stretched" : "linear"));
  }
  const Size size = file.picture.size();
  if (request_.align == FilmAlign::off && size != grid_) {
    throw UsageError(fmt::format(
        "{} has {} x {} px, {} has {} x {}: without alignment all need one size; leave out --align "
        "off",
        path, size.width_px, size.height_px, first, grid_.width_px, grid_.height_px));
  }
}

// Places a picture on the grid, and compares its light with that of the middle one.
void FilmSeries::add(std::size_t picture, const files::PictureFile& file, const Plane& middle) {
  const std::string& path = request_.pictures[picture];
  const Plane grey = mean_plane(file.picture.view().channels);
  merge::Placement placed = merge::in_place(grid_);
  if (request_.align == FilmAlign::automatic && picture != count() / 2) {
    merge::SimilaritySearch search;
    search.furthest_scale = 0;
    const auto found = merge::find_similarity(middle.view(), grey.view(), search);
    if (!found.ok()) {
      throw NothingUsable(
          fmt::format("{} cannot be aligned to {}: they do not show the same. Leave one out, or "
                      "give --align off",
                      path, request_.pictures[count() / 2]));
    }
    placed.whole = found.value();
  }
  maps_[picture] = placed.whole;
  const Size size = grey.size();
  const Plane seen = placed.covered({0, 0, size.width_px, size.height_px});
  box_ = merge::covered_box({seen.view()}, box_);
  if (std::min(box_.width_px(), box_.height_px()) < kLeastFilmSide) {
    throw NothingUsable(fmt::format("{} shares too little with {}; leave it out", path,
                                    request_.pictures[count() / 2]));
  }
  if (request_.light == FilmLight::kept || stretched_) return;
  const Plane brought = placed.brought(align::SplinePlane(grey.view()));
  const Plane wanted = merge::blurred(middle.view(), kLightPx);
  const Plane given = merge::blurred(brought.view(), kLightPx);
  LightSums s;
  for (int y = box_.y0; y < box_.y1; ++y)
    for (int x = box_.x0; x < box_.x1; ++x)
      s.add(static_cast<double>(wanted.row(y)[x]), static_cast<double>(given.row(y)[x]));
  const double variance = s.pp - s.p * s.p / s.n;
  const double gain = variance > 0 ? (s.rp - s.r * s.p / s.n) / variance : 0;
  if (gain > 0) changes_[picture] = {gain, (s.r - gain * s.p) / s.n};
}

FilmSeries::FilmSeries(const AnimateRequest& request, const Progress& progress)
    : request_(request) {
  const std::size_t pictures = request.pictures.size();
  maps_.resize(pictures);
  changes_.resize(pictures);
  const auto total = static_cast<std::int64_t>(pictures);
  progress.step("registering", 0, total);
  const files::PictureFile middle = read(count() / 2);
  grid_ = middle.picture.size();
  channels_ = middle.picture.channels.size();
  stretched_ = middle.stretched;
  box_ = {0, 0, grid_.width_px, grid_.height_px};
  settle_captions();
  const Plane grey = mean_plane(middle.picture.view().channels);
  levels_ = finish::levels_of(middle.picture.view().channels);
  double white = levels_.white;
  for (std::size_t i = 0; i < count(); ++i) {
    progress.step("registering", static_cast<std::int64_t>(i), total);
    const files::PictureFile file = read(i);
    check_alike(file, i);
    add(i, file, grey);
    const Change& change = changes_[i];
    const finish::Levels own = finish::levels_of(file.picture.view().channels);
    white = std::max(white, change.gain * own.white + change.offset);
  }
  levels_.white = white;
  progress.step("registering", total, total);
  const Size inside{box_.width_px(), box_.height_px()};
  size_ = inside;
  for (const std::string& caption : captions_)
    size_.height_px = std::max(size_.height_px, annotated_size(inside, caption).height_px);
}

void FilmSeries::settle_captions() {
  for (const std::string& path : request_.pictures) {
    captions_.push_back(request_.caption == "date" ? moment_of(path) : request_.caption);
    if (request_.caption != "date" || !captions_.back().empty()) continue;
    throw UsageError(fmt::format(
        "--caption date: {} does not state when it was recorded; FITS files state it as DATE-OBS. "
        "Leave the option out, or give a text",
        path));
  }
}

std::vector<double> FilmSeries::gains() const {
  std::vector<double> out;
  for (const Change& change : changes_) out.push_back(change.gain);
  return out;
}

files::Picture FilmSeries::on_grid(std::size_t picture, const files::PictureFile& file) const {
  const merge::Similarity& map = maps_[picture];
  const Change& change = changes_[picture];
  merge::Placement placed = merge::in_place(grid_);
  placed.whole = map;
  const bool as_it_is = request_.align == FilmAlign::off || picture == count() / 2;
  files::Picture out;
  for (const Plane& channel : file.picture.channels) {
    const Plane brought = as_it_is ? Plane::copy_of(channel.view())
                                   : placed.brought(align::SplinePlane(channel.view()));
    Plane inside = Plane::copy_of(brought.view().crop(box_));
    for (int y = 0; y < inside.height(); ++y) {
      for (int x = 0; x < inside.width(); ++x)
        inside.row(y)[x] =
            static_cast<float>(change.gain) * inside.row(y)[x] + static_cast<float>(change.offset);
    }
    out.channels.push_back(std::move(inside));
  }
  return out;
}

files::Bitmap FilmSeries::shown(std::size_t picture) const {
  files::Picture seen = on_grid(picture, read(picture));
  if (!stretched_) finish::apply_tone(seen.channels, request_.tone, levels_);
  const std::string& caption = captions_[picture];
  if (!caption.empty()) seen = draw::annotated(seen.view(), {caption, {}});
  files::Bitmap out{size_.width_px, size_.height_px, static_cast<int>(channels_), {}};
  out.samples.resize(static_cast<std::size_t>(size_.area_px()) * channels_);
  for (int y = 0; y < seen.size().height_px; ++y) {
    for (std::size_t c = 0; c < channels_; ++c) {
      const float* row = seen.channels[c].row(y);
      auto* to = out.samples.data() +
                 static_cast<std::size_t>(y) * static_cast<std::size_t>(size_.width_px) * channels_;
      for (std::size_t x = 0; x < static_cast<std::size_t>(size_.width_px); ++x)
        to[x * channels_ + c] = static_cast<std::uint8_t>(
            std::lround(255 * std::clamp(static_cast<double>(row[x]), 0.0, 1.0)));
    }
  }
  return out;
}

}  // namespace lull::run
