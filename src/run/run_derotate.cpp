#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <exception>

#include "core/error.h"
#include "core/parallel.h"
#include "core/statistics.h"
#include "files/name_text.h"
#include "files/results.h"
#include "globe/derotate.h"
#include "globe/moving.h"
#include "run/derotate_outcome.h"
#include "run/facing.h"
#include "run/globe_stack.h"
#include "run/joint_radius.h"
#include "run/linear_file.h"
#include "run/moment_check.h"
#include "run/outputs.h"
#include "run/planet_check.h"
#include "run/stack_header.h"
#include "run/surface_map.h"
#include "spectrum/frc.h"

namespace lull::run {

namespace {

constexpr double kClouds_s = 86'400;  // within which their own motion is small

bool makes_stack(const DerotateRequest& request) { return !request.output.empty(); }

void check_request(DerotateRequest& request, const Resources& resources) {
  check_complete(derotate_options(), request);
  check_map(request.map);
  if (request.output.empty() && request.map.file.empty())
    request.output = name_after(request.stacks.front(), "_derotated.linear.fits");
  if (makes_stack(request) && !request.output.ends_with(".fits"))
    throw UsageError(fmt::format(
        "--output: '{}' must end in .fits: the result is a linear stack, which `lull finish` takes",
        request.output));
  if (makes_stack(request) && request.stacks.size() == 1 && !request.turning.moment)
    throw UsageError("one stack has nothing to be brought to: name more, or a moment by --to");
  check_results({request.output, request.map.file}, request.stacks, resources);
}

std::vector<FinishInput> read_all(const DerotateRequest& request, const Progress& progress) {
  std::vector<FinishInput> inputs;
  for (const std::string& path : request.stacks) {
    progress.step("reading", static_cast<std::int64_t>(inputs.size()),
                  static_cast<std::int64_t>(request.stacks.size()));
    inputs.push_back(read_finish_input(path));
    if (!inputs.back().has_halves)
      throw InputError(fmt::format(
          "'{}' is no linear stack: give those that `lull stack` writes (.linear.fits)", path));
    if (inputs.back().picture.channels.size() != inputs.front().picture.channels.size())
      throw InputError(fmt::format("'{}' has other channels than '{}': derotate them apart", path,
                                   request.stacks.front()));
  }
  return inputs;
}

Facing facing_of_all(const DerotateRequest& request, const std::vector<FinishInput>& inputs,
                     sky::Body body) {
  std::vector<Plane> light;
  std::vector<DatedPicture> pictures;
  light.reserve(inputs.size());
  pictures.reserve(inputs.size());
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const std::string name = files::name_text(request.stacks[i]);
    light.push_back(mean_plane(inputs[i].picture.view().channels));
    pictures.push_back({name, light.back().view(), moment_of_stack(name, inputs[i].cards)});
  }
  return facing_of(pictures, request.turning, body);
}

// Side by side. The first stack that cannot be used is named, whichever was tried first.
std::vector<GlobeStack> all_globes(const DerotateRequest& request, std::vector<FinishInput> inputs,
                                   sky::Body body, const Facing& facing) {
  std::vector<GlobeStack> stacks(inputs.size());
  std::vector<std::exception_ptr> errors(inputs.size());
  parallel_for(static_cast<std::int64_t>(inputs.size()), [&](std::int64_t index) {
    const auto i = static_cast<std::size_t>(index);
    try {
      stacks[i] = globe_stack(request.stacks[i], std::move(inputs[i]), body, facing.turning,
                              facing.turned_about[i]);
    } catch (const RunError&) {
      errors[i] = std::current_exception();
    }
  });
  for (const std::exception_ptr& error : errors) {
    if (error) std::rethrow_exception(error);
  }
  share_radius(stacks);
  return stacks;
}

Utc middle_of(const std::vector<GlobeStack>& stacks) {
  double sum = 0;
  double weights = 0;
  for (const GlobeStack& stack : stacks) {
    const double weight = 1 / (stack.noise * stack.noise);
    sum += weight * seconds_between(stacks.front().sight.moment, stack.sight.moment);
    weights += weight;
  }
  return after(stacks.front().sight.moment, sum / weights);
}

void check_turns(const std::vector<GlobeStack>& stacks, const DerotateOutcome& outcome) {
  for (const GlobeStack& stack : stacks) {
    const double moved = face_moved_deg(outcome.body, stack.sight.moment, outcome.moment);
    if (std::abs(moved) <= kMostTurnDeg) continue;
    const double turn = turned_deg(outcome.body, stack.sight.moment, outcome.moment);
    throw UsageError(fmt::format(
        "'{}' is of {}: {} turns by {:.0f} degrees until {}, and shows another face then. Derotate "
        "series of less than half a turn apart",
        stack.path, iso8601(stack.sight.moment, 0), sky::body_title(outcome.body), std::abs(turn),
        iso8601(outcome.moment, 0)));
  }
}

// Whether the date and the planet can be right.
void check_input(const std::vector<GlobeStack>& stacks, const Turning& turning,
                 DerotateOutcome& outcome) {
  std::vector<NamedMoment> moments;
  moments.reserve(stacks.size());
  for (const GlobeStack& stack : stacks) moments.push_back({stack.path, stack.sight.moment});
  const TakenAt place{outcome.request.site, outcome.request.zone};
  for (auto& notes : {check_moments(moments, outcome.body, place, time_now()),
                      check_planet(stacks, outcome.body, turning)})
    outcome.notes.insert(outcome.notes.end(), notes.begin(), notes.end());
}

// Against what is asked for.
void check_motion(const std::vector<GlobeStack>& stacks, const DerotateOutcome& outcome) {
  std::vector<const GlobeStack*> order;
  order.reserve(stacks.size());
  for (const GlobeStack& stack : stacks) order.push_back(&stack);
  std::stable_sort(order.begin(), order.end(), [](const GlobeStack* a, const GlobeStack* b) {
    return seconds_between(a->sight.moment, b->sight.moment) > 0;
  });
  const Utc first = order.front()->sight.moment;
  std::vector<globe::DatedFace> all;
  all.reserve(order.size());
  for (const GlobeStack* stack : order) {
    const GlobeSight& sight = stack->sight;
    const Plane light = mean_plane(stack->input.picture.view().channels);
    all.push_back({globe::face_of(light.view(), sight.shape, sight.limb.place,
                                  seconds_between(first, sight.moment)),
                   sight.aspect.pole_deg, stack->turned_about});
  }
  const std::vector<globe::DatedFace> faces = of_one_side(all, outcome.body, first);
  const double span_s = faces.back().face.later_s - faces.front().face.later_s;
  const double moved = face_moved_deg(outcome.body, first, after(first, span_s)) * sky::kDegree;
  check_sense(faces, std::abs(moved) * order.front()->sight.limb.place.radius_px, outcome.body,
              outcome.request.turning);
}

const GlobeStack& nearest(const std::vector<GlobeStack>& stacks, Utc moment) {
  return *std::min_element(stacks.begin(), stacks.end(), [moment](const auto& a, const auto& b) {
    return std::abs(seconds_between(moment, a.sight.moment)) <
           std::abs(seconds_between(moment, b.sight.moment));
  });
}

double median_darkening(const std::vector<GlobeStack>& stacks) {
  std::vector<double> values;
  for (const GlobeStack& stack : stacks) values.push_back(stack.sight.limb.darkening);
  return upper_median(std::move(values));
}

std::vector<globe::GlobePicture> pictures_of(const std::vector<GlobeStack>& stacks,
                                             const GlobeStack& reference, Utc moment) {
  std::vector<globe::GlobePicture> pictures;
  for (const GlobeStack& stack : stacks) {
    pictures.push_back(globe_picture(stack, moment, reference.sight.limb.brightness));
    pictures.back().is_reference = &stack == &reference;
  }
  return pictures;
}

// When the light was recorded that the result holds, as far as all stacks state it.
void add_recorded(const std::vector<GlobeStack>& stacks, std::vector<files::Card>& cards) {
  for (const char* key : {"DATE-OBS", "DATE-END"}) {
    std::vector<Utc> moments;
    for (const GlobeStack& stack : stacks) {
      if (const auto moment = moment_in(stack.input.cards, key)) moments.push_back(*moment);
    }
    if (moments.size() != stacks.size()) continue;
    const auto [first, last] = std::minmax_element(moments.begin(), moments.end());
    const bool begin = std::string(key) == "DATE-OBS";
    cards.push_back(
        {key, iso8601(begin ? *first : *last, 6), begin ? "first of the stacks" : "last of them"});
  }
}

std::vector<files::Card> cards_of(const std::vector<GlobeStack>& stacks,
                                  const GlobeStack& reference, const DerotateOutcome& outcome) {
  std::vector<files::Card> cards = reference.input.cards;
  std::erase_if(cards, [](const files::Card& card) {
    return card.key.starts_with("DATE-") || card.key == "RESOL" || card.key == "RESOLAS" ||
           card.key == "RESOLCUT" || card.key == "HALFB" || card.key == "HALFBAS" ||
           card.key == "HALFBCUT";
  });
  cards.push_back(
      {"DATE-AVG", iso8601(outcome.moment, 6), "moment to which the stacks were brought"});
  add_recorded(stacks, cards);
  cards.push_back({"DEROTATE", static_cast<std::int64_t>(outcome.stacks.size()),
                   "stacks brought to one moment"});
  cards.push_back({"CMERID", outcome.central_meridian_deg, "[deg] longitude of the disc's middle"});
  return cards;
}

// The first half of the planes are channels, the others their noise.
void measure(DerotateOutcome& outcome, finish::Measurements& measured, std::vector<Plane>& planes,
             std::size_t channels) {
  for (std::size_t c = channels; c < planes.size(); ++c)
    measured.noise.push_back(std::move(planes[c]));
  std::vector<PlaneView> light;
  std::vector<PlaneView> noise;
  for (std::size_t c = 0; c < channels; ++c) {
    light.push_back(planes[c].view());
    noise.push_back(measured.noise[c].view());
  }
  const Plane whole = mean_plane(light);
  const Plane half = mean_plane(noise);
  const Plane first = weighted_sum(whole.view(), 1, half.view());
  const Plane second = weighted_sum(whole.view(), -1, half.view());
  measured.frc = spectrum::fourier_ring_correlation(first.view(), second.view());
  outcome.resolution = measured.frc.resolution();
}

void describe_stacks(DerotateOutcome& outcome, const std::vector<GlobeStack>& stacks) {
  double weights = 0;
  for (const GlobeStack& stack : stacks) weights += 1 / (stack.noise * stack.noise);
  for (const GlobeStack& stack : stacks) {
    outcome.stacks.push_back(
        {stack.path, stack.sight.moment, stack.sight.limb.place.x_px, stack.sight.limb.place.y_px,
         stack.sight.limb.place.radius_px, 1 / (stack.noise * stack.noise * weights),
         turned_deg(outcome.body, stack.sight.moment, outcome.moment), stack.turned_about});
  }
}

// What moves against the globe, to be kept from the reference; empty: nothing does.
Plane moons(const std::vector<globe::GlobePicture>& pictures, const globe::Derotation& nothing,
            const globe::GlobeView& at_moment, const GlobeStack& reference,
            DerotateOutcome& outcome) {
  if (pictures.size() < 2) return {};
  Plane places = globe::moving_places(pictures, nothing, at_moment, reference.sight.limb.brightness,
                                      reference.sight.limb.spread().width_px());
  double sum = 0;
  for (int y = 0; y < places.height(); ++y) {
    for (int x = 0; x < places.width(); ++x) sum += static_cast<double>(places.row(y)[x]);
  }
  if (sum == 0) return {};
  outcome.notes.push_back(fmt::format(
      "something moves against the globe, such as a moon or its shadow: {:.1f}% of the picture are "
      "taken from '{}' alone",
      100 * sum / static_cast<double>(places.size().area_px()), reference.path));
  return places;
}

void add_stack(DerotateOutcome& outcome, const std::vector<GlobeStack>& stacks,
               const GlobeStack& reference, const sky::Aspect& aspect, files::Results& results) {
  const globe::GlobeView at_moment(globe::shape_of(outcome.body, aspect),
                                   reference.sight.limb.place);
  const Size size = reference.input.picture.size();
  const std::vector<globe::GlobePicture> pictures = pictures_of(stacks, reference, outcome.moment);
  const globe::Derotation nothing(at_moment, size, outcome.body, outcome.darkening,
                                  reference.sight.limb.spread());
  std::vector<Plane> planes =
      globe::derotate(pictures, nothing, moons(pictures, nothing, at_moment, reference, outcome))
          .planes;
  const std::size_t channels = reference.input.picture.channels.size();
  finish::Measurements measured;
  measure(outcome, measured, planes, channels);
  planes.resize(channels);
  const files::Picture picture{std::move(planes)};
  results.add(outcome.request.output, [&](const auto& path) {
    write_linear(path, picture.view(), cards_of(stacks, reference, outcome), measured, {});
  });
}

void add_map(DerotateOutcome& outcome, const std::vector<GlobeStack>& stacks,
             const GlobeStack& reference, files::Results& results) {
  const MapChoice& choice = outcome.request.map;
  const SurfaceMap map = surface_map(stacks, choice, outcome.body, outcome.moment,
                                     outcome.darkening, reference.sight.limb.brightness);
  const Size size = map.grid.size();
  outcome.map = {size.width_px, size.height_px, map.grid.pixels_per_degree(), map.seen_share()};
  if (seconds_between(map.from, map.to) > kClouds_s && outcome.body != sky::Body::mars)
    outcome.notes.push_back(fmt::format(
        "the stacks are {:.0f} hours apart: clouds of {} move on their own, and by more than their "
        "turn says",
        seconds_between(map.from, map.to) / 3600, sky::body_title(outcome.body)));
  results.add(
      choice.file, [&](const auto& path) { write_surface_map(path, map); },
      files::Results::Format::of_name);
}

void write_results(DerotateOutcome& outcome, const std::vector<GlobeStack>& stacks,
                   const sky::Aspect& aspect, const RunControl& control) {
  const GlobeStack& reference = nearest(stacks, outcome.moment);
  files::Results results;
  control.progress.step("turning", 0, 1);
  if (makes_stack(outcome.request)) add_stack(outcome, stacks, reference, aspect, results);
  control.progress.step("writing", 0, 1);
  if (!outcome.request.map.file.empty()) add_map(outcome, stacks, reference, results);
  outcome.written = results.targets();
  commit(results, control.resources);
}

}  // namespace

DerotateOutcome run_derotate(const DerotateRequest& given, const RunControl& control) {
  DerotateOutcome outcome;
  outcome.request = given;
  check_request(outcome.request, control.resources);
  const DerotateRequest& request = outcome.request;
  std::vector<FinishInput> inputs = read_all(request, control.progress);
  outcome.body = derotated_body(request, inputs);
  check_map(request.map, outcome.body);
  control.progress.step("finding north", 0, 1);
  const Facing facing = facing_of_all(request, inputs, outcome.body);
  outcome.north_deg = *facing.turning.north_deg;
  outcome.mirrored = facing.turning.mirrored == Mirrored::yes;
  outcome.north_found = facing.found;
  if (!facing.note.empty()) outcome.notes.push_back(facing.note);
  control.progress.step("finding the limb", 0, 1);
  std::vector<GlobeStack> stacks = all_globes(request, std::move(inputs), outcome.body, facing);
  check_input(stacks, facing.turning, outcome);
  outcome.moment = request.turning.moment ? *request.turning.moment : middle_of(stacks);
  if (!sky::is_covered(outcome.moment))
    throw UsageError("--to: dates of the years 1950 to 2100 are possible");
  if (makes_stack(request)) check_turns(stacks, outcome);
  if (!facing.found) check_motion(stacks, outcome);
  outcome.darkening = median_darkening(stacks);
  const sky::Aspect aspect = sky::aspect_of(outcome.body, sky::Observer(outcome.moment));
  outcome.central_meridian_deg = aspect.below_observer.longitude_deg;
  outcome.turn_deg_per_hour = turned_deg(outcome.body, outcome.moment, after(outcome.moment, 3600));
  describe_stacks(outcome, stacks);
  write_results(outcome, stacks, aspect, control);
  return outcome;
}

static nlohmann::json to_json(const DerotatedMap& map) {
  return {{"width_px", map.width_px},
          {"height_px", map.height_px},
          {"pixels_per_degree", map.pixels_per_degree},
          {"seen_share", map.seen_share}};
}

nlohmann::json to_json(const DerotateOutcome& outcome) {
  nlohmann::json stacks = nlohmann::json::array();
  for (const DerotatedStack& stack : outcome.stacks)
    stacks.push_back({{"stack", stack.path},
                      {"utc", iso8601(stack.moment) + "Z"},
                      {"x_px", stack.x_px},
                      {"y_px", stack.y_px},
                      {"radius_px", stack.radius_px},
                      {"weight", stack.weight},
                      {"turned_deg", stack.turned_deg},
                      {"turned_about", stack.turned_about}});
  return {{"object", sky::body_name(outcome.body)},
          {"utc", iso8601(outcome.moment) + "Z"},
          {"central_meridian_deg", outcome.central_meridian_deg},
          {"turn_deg_per_hour", outcome.turn_deg_per_hour},
          {"darkening", outcome.darkening},
          {"north_deg", outcome.north_deg},
          {"north_found", outcome.north_found},
          {"mirrored", outcome.mirrored},
          {"notes", outcome.notes},
          {"stacks", stacks},
          {"map", outcome.map ? to_json(*outcome.map) : nlohmann::json()},
          {"resolution_cycles_per_px",
           outcome.resolution ? nlohmann::json(*outcome.resolution) : nlohmann::json()},
          {"written", files::name_texts(outcome.written)}};
}

}  // namespace lull::run
