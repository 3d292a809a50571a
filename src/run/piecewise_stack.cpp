#include "run/piecewise_stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "align/find_shift.h"
#include "core/error.h"
#include "globe/derotate.h"
#include "quality/luminance.h"
#include "run/facing.h"
#include "run/piecewise_join.h"
#include "run/time_pieces.h"

namespace lull::run {

namespace {

constexpr double kGoodShare = 0.25;   // of the usable frames: where most of them are, auto chooses
constexpr std::size_t kChoosing = 3;  // pieces: the choice of one errs by a factor of two
constexpr std::size_t kFewest = 2;    // frames of a piece
constexpr std::size_t kForRadius = 100;  // the air moves the limbs of few frames together
constexpr std::size_t kForNorth = 25;
constexpr int kQuarters = 4;
constexpr double kShiftBox = 1.15;  // of the radius

using Records = std::vector<std::size_t>;

// The mean of the best frames, moved by whole pixels.
Plane rough_picture(capture::FrameStore& frames, const survey::Survey& survey,
                    const Records& ranked, std::size_t most) {
  const Size size = frames.info().size;
  Plane sum(size);
  const FrameOffset origin = survey.records[ranked.front()].offset;
  quality::LuminanceBuffer buffer;
  Plane one(size);
  for (std::size_t i = 0; i < std::min(most, ranked.size()); ++i) {
    const auto frame = frames.at(survey.records[ranked[i]].index);
    if (!frame.ok()) continue;
    const quality::Luminance light = quality::luminance(frame.value(), frames.info(), buffer);
    to_plane(light.view, light.scale, one.view());
    const FrameOffset moved = survey.records[ranked[i]].offset - origin;
    const int dx = static_cast<int>(std::lround(moved.x_px));
    const int dy = static_cast<int>(std::lround(moved.y_px));
    for (int y = std::max(0, -dy); y < std::min(size.height_px, size.height_px - dy); ++y) {
      for (int x = std::max(0, -dx); x < std::min(size.width_px, size.width_px - dx); ++x)
        sum.row(y)[x] += one.row(y + dy)[x + dx];
    }
  }
  return sum;
}

class PieceStacker {
 public:
  PieceStacker(capture::FrameStore& frames, const survey::Survey& survey,
               const stack::StackOptions& options, const PiecewisePlan& plan,
               const Progress& progress)
      : frames_(frames),
        survey_(survey),
        options_(options),
        plan_(plan),
        progress_(progress),
        ranked_(quality::rank(survey.records)),
        rank_of_(survey.records.size(), survey.records.size()) {
    for (std::size_t i = 0; i < ranked_.size(); ++i) rank_of_[ranked_[i]] = i;
    facts_.body = plan.body;
    part_.target = survey.target;
    part_.metric = survey.metric;
    part_.shares = survey.shares;
    part_.reduction = survey.reduction;
    part_.field_turn = survey.field_turn;
    part_.measured = survey.measured;
    part_.structured = survey.structured;
  }

  PiecewiseStack run() {
    cut();
    const std::vector<std::size_t> richest = richest_first();
    const std::size_t first = richest.front();
    show(0);
    kept_ = frames_to_keep(richest);
    begin(first);
    std::int64_t done = 1;
    for (std::size_t i = 0; i < pieces_.records.size(); ++i) {
      if (i == first) continue;
      show(done++);
      if (best_of(i, kept_).size() < kFewest) continue;
      add_other(i);
    }
    show(done);
    if (2 * facts_.left_out.size() > pieces_.records.size())
      throw NothingUsable(facts_.left_out.front());
    return {std::move(*join_).finish(), std::move(facts_)};
  }

 private:
  void show(std::int64_t done) const {
    progress_.step("stacking", done, static_cast<std::int64_t>(pieces_.records.size()));
  }

  [[nodiscard]] Utc moment_of(const Records& records) const {
    double sum = 0;
    for (const std::size_t i : records) sum += survey_.records[i].time_s;
    return *frames_.info().times.utc_at(sum / static_cast<double>(records.size()));
  }

  // By how detail moves over the quarters of the capture.
  void find_north() {
    if (plan_.turning.north_deg) return;
    const auto [first, last] =
        std::minmax_element(survey_.records.begin(), survey_.records.end(),
                            [](const auto& a, const auto& b) { return a.time_s < b.time_s; });
    const double quarter_s = (last->time_s - first->time_s) / kQuarters;
    std::vector<Records> quarters(kQuarters);
    for (const std::size_t i : ranked_) {
      const double at = (survey_.records[i].time_s - first->time_s) / std::max(quarter_s, 1e-9);
      Records& quarter = quarters[static_cast<std::size_t>(std::clamp(at, 0.0, kQuarters - 1.0))];
      if (quarter.size() < kForNorth) quarter.push_back(i);
    }
    std::erase_if(quarters, [](const Records& records) { return records.empty(); });
    std::vector<Plane> light;
    std::vector<DatedPicture> pictures;
    light.reserve(quarters.size());
    pictures.reserve(quarters.size());
    for (const Records& records : quarters) {
      light.push_back(rough_picture(frames_, survey_, records, kForNorth));
      pictures.push_back({frames_.info().path, light.back().view(), moment_of(records)});
    }
    const Facing facing = facing_of(pictures, plan_.turning, plan_.body);
    plan_.turning = facing.turning;
    facts_.north_found = facing.found;
    facts_.note = facing.note;
  }

  void cut() {
    const capture::CaptureTimes& times = frames_.info().times;
    if (!times.known || !times.begun)
      throw InputError(fmt::format(
          "{}: the capture does not state when its frames were recorded, so nobody knows how far "
          "the globe has turned; record with time stamps, or leave out --derotate",
          frames_.info().path));
    find_north();
    facts_.north_deg = *plan_.turning.north_deg;
    facts_.mirrored = plan_.turning.mirrored == Mirrored::yes;
    const Utc middle = plan_.turning.moment.value_or(moment_of(ranked_));
    const sky::Aspect aspect = aspect_at(plan_.body, middle);
    const Plane rough = rough_picture(frames_, survey_, ranked_, kForRadius);
    const auto limb = globe::fit_limb(rough.view(), globe::shape_of(plan_.body, aspect),
                                      angles_of(plan_.turning, aspect));
    if (!limb)
      throw NothingUsable(fmt::format(
          "{}: no disc of a planet on a dark sky is found, of 10 px radius at least; leave out "
          "--derotate",
          frames_.info().path));
    radius_px_ = limb->place.radius_px;
    const double rad_per_s = face_moved_deg(plan_.body, middle, after(middle, 1)) * sky::kDegree;
    const double px_per_s = std::abs(rad_per_s) * limb->place.radius_px;
    pieces_ = cut_in_time(survey_, px_per_s);
    facts_.piece_s = pieces_.length_s;
    facts_.smear_px = px_per_s * pieces_.length_s;
    facts_.whole_smear_px = px_per_s * pieces_.span_s();
    for (const Records* records : {&pieces_.records.front(), &pieces_.records.back()}) {
      const double moved = face_moved_deg(plan_.body, moment_of(*records), middle);
      if (std::abs(moved) <= kMostTurnDeg) continue;
      const double turn = turned_deg(plan_.body, moment_of(*records), middle);
      throw InputError(fmt::format(
          "{}: the globe turns by {:.0f} degrees between an end of the capture and {}, and shows "
          "another face then; stack shorter parts with --frames",
          frames_.info().path, std::abs(turn), iso8601(middle, 0)));
    }
  }

  // The frames of a piece that are among so many best ones of the capture.
  [[nodiscard]] Records best_of(std::size_t piece, std::size_t count) const {
    Records out;
    for (const std::size_t record : pieces_.records[piece]) {
      if (rank_of_[record] < count) out.push_back(record);
    }
    return out;
  }

  // The pieces, those with the most good frames first.
  [[nodiscard]] std::vector<std::size_t> richest_first() const {
    const auto good = static_cast<std::size_t>(kGoodShare * static_cast<double>(ranked_.size()));
    std::vector<std::size_t> counts;
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < pieces_.records.size(); ++i) {
      counts.push_back(best_of(i, good + 1).size());
      order.push_back(i);
    }
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return counts[a] > counts[b]; });
    return order;
  }

  // Of the capture. Automatically it is the share that is chosen where a few pieces stand for all,
  // for the noise of the average.
  [[nodiscard]] std::size_t frames_to_keep(const std::vector<std::size_t>& richest) {
    const std::size_t usable = ranked_.size();
    if (!std::holds_alternative<quality::KeepAuto>(options_.keep))
      return static_cast<std::size_t>(
          quality::kept_frames(options_.keep, static_cast<std::int64_t>(usable)));
    stack::StackOptions options = options_;
    options.illustrations = stack::Illustrations::none;
    std::size_t kept = 0;
    std::size_t of = 0;
    for (std::size_t i = 0; i < std::min(kChoosing, richest.size()); ++i) {
      const std::size_t here = best_of(richest[i], usable).size();
      options.pieces = static_cast<double>(usable) / static_cast<double>(std::max(here, kFewest));
      try {
        kept += stacked(richest[i], options).kept.size();
        of += here;
      } catch (const NothingUsable&) {
        if (of == 0) throw;
      }
    }
    return kept * usable / of;
  }

  [[nodiscard]] stack::StackResult stacked(std::size_t piece, const stack::StackOptions& options) {
    part_.records.clear();
    for (const std::size_t record : pieces_.records[piece])
      part_.records.push_back(survey_.records[record]);
    return stack::stack(frames_, part_, options, progress_.silent());
  }

  [[nodiscard]] GlobeSight sight_of(const stack::StackResult& result, Utc moment) const {
    GlobeSight sight =
        globe_sight(fmt::format("{}, around {}", frames_.info().path, iso8601(moment, 1)),
                    result.picture.view(), plan_.body, moment, plan_.turning, plan_.arcsec_per_px);
    fit_with_radius(sight, result.picture.view(), radius_px_);
    return sight;
  }

  // All other pieces are laid on this one.
  void begin(std::size_t piece) {
    stack::StackOptions options = options_;
    options.keep = quality::KeepCount{
        std::max<std::int64_t>(static_cast<std::int64_t>(best_of(piece, kept_).size()), kFewest)};
    stack::StackResult result = stacked(piece, options);
    const GlobeSight sight = sight_of(result, moment_of(result.kept));
    Records all(ranked_.begin(), ranked_.begin() + static_cast<std::ptrdiff_t>(kept_));
    facts_.moment = plan_.turning.moment.value_or(moment_of(all));
    facts_.limb = sight.limb;
    facts_.darkening = sight.limb.darkening;
    const sky::Aspect aspect = aspect_at(plan_.body, facts_.moment);
    facts_.central_meridian_deg = aspect.below_observer.longitude_deg;
    globe::GlobePlace place = sight.limb.place;
    place.pole_clockwise_rad = angles_of(plan_.turning, aspect).pole_clockwise_rad;
    globe_.emplace(globe::GlobeView(globe::shape_of(plan_.body, aspect), place),
                   result.picture.size(), plan_.body, facts_.darkening, facts_.limb.spread());
    reference_ = turned(result, sight);
    join_.emplace(globe_->like());
    add(std::move(result), sight);
  }

  // Of the piece at work.
  [[nodiscard]] Utc moment_of(std::vector<FrameIndex> kept) const {
    std::sort(kept.begin(), kept.end());
    Records records;
    for (std::size_t i = 0; i < survey_.records.size(); ++i) {
      if (std::binary_search(kept.begin(), kept.end(), survey_.records[i].index))
        records.push_back(i);
    }
    return moment_of(records);
  }

  void add_other(std::size_t piece) {
    const Records best = best_of(piece, kept_);
    stack::StackOptions options = options_;
    options.keep = quality::KeepCount{static_cast<std::int64_t>(best.size())};
    options.illustrations = stack::Illustrations::none;
    try {
      stack::StackResult result = stacked(piece, options);
      GlobeSight sight = sight_of(result, moment_of(result.kept));
      // Detail shows where the globe lies better than the limb does.
      sight.limb.place = moved_onto_reference(result, sight);
      add(std::move(result), sight);
    } catch (const NothingUsable& error) {
      facts_.left_out.emplace_back(error.what());
    } catch (const InputError& error) {
      facts_.left_out.emplace_back(error.what());
    }
  }

  [[nodiscard]] globe::GlobePicture picture_of(const GlobeSight& sight) const {
    return {sight.view(),
            seconds_between(facts_.moment, sight.moment),
            1,
            facts_.limb.brightness / sight.limb.brightness,
            {},
            false,
            sight.limb.spread()};
  }

  [[nodiscard]] Plane turned(const stack::StackResult& result, const GlobeSight& sight) const {
    globe::Derotation one = globe_->like();
    globe::GlobePicture picture = picture_of(sight);
    picture.planes = {result.picture.view()};
    one.add(picture);
    return std::move(one.finish().planes.front());
  }

  [[nodiscard]] globe::GlobePlace moved_onto_reference(const stack::StackResult& result,
                                                       const GlobeSight& sight) const {
    globe::GlobePlace place = sight.limb.place;
    const globe::GlobePlace& middle = facts_.limb.place;
    const double reach = kShiftBox * middle.radius_px * std::max(1.0, sight.shape.ring_outer);
    const Box box =
        Box{static_cast<int>(middle.x_px - reach), static_cast<int>(middle.y_px - reach),
            static_cast<int>(middle.x_px + reach), static_cast<int>(middle.y_px + reach)}
            .intersection({0, 0, reference_.width(), reference_.height()});
    const Plane here = turned(result, sight);
    align::FindShiftWorkspace workspace;
    const auto shift =
        align::find_shift(reference_.view().crop(box), here.view().crop(box), {}, workspace);
    if (!shift.ok()) return place;
    place.x_px -= shift.value().x_px;
    place.y_px -= shift.value().y_px;
    return place;
  }

  void add(stack::StackResult&& result, const GlobeSight& sight) {
    const auto frames = static_cast<std::int64_t>(result.kept.size());
    globe::GlobePicture picture = picture_of(sight);
    picture.weight = static_cast<double>(frames);
    facts_.pieces.push_back({sight.moment, frames, sight.limb.place.x_px, sight.limb.place.y_px,
                             turned_deg(plan_.body, sight.moment, facts_.moment)});
    join_->add(std::move(result), picture);
  }

  capture::FrameStore& frames_;
  const survey::Survey& survey_;
  const stack::StackOptions& options_;
  PiecewisePlan plan_;
  const Progress& progress_;
  Records ranked_;                    ///< places in the survey's records, best first
  std::vector<std::size_t> rank_of_;  ///< of each record; their number: it is not usable
  TimePieces pieces_;
  survey::Survey part_;   ///< of the piece at work
  std::size_t kept_ = 0;  ///< of the ranked frames
  double radius_px_ = 0;  ///< one globe has one: that of the mean of many frames
  PiecewiseFacts facts_;
  std::optional<globe::Derotation> globe_;  ///< with nothing in it
  Plane reference_;                         ///< the first piece at the moment
  std::optional<PiecewiseJoin> join_;
};

}  // namespace

PiecewiseStack stack_piecewise(capture::FrameStore& frames, const survey::Survey& survey,
                               const stack::StackOptions& options, const PiecewisePlan& plan,
                               const Progress& progress) {
  return PieceStacker(frames, survey, options, plan, progress).run();
}

}  // namespace lull::run
