#include "survey/orientation.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstddef>

namespace lull::survey {

namespace {

constexpr double kMostVote = 10;    // of one test: no frame decides alone
constexpr double kChange = 20;      // votes that a change costs
constexpr double kLeastVote = 1.5;  // mean beside a change, on either side of it
constexpr std::size_t kBeside = 8;  // tests beside a change that must agree

using Votes = std::array<double, kTurns>;

// What speaks for each turn against Turn::none. The rms of a correlation without match is 1.
Votes votes_of(const TurnTest& test) {
  Votes votes{};
  for (std::size_t t = 0; t < kTurns; ++t)
    votes[t] = std::clamp(test.peaks[t] - test.peaks[0], -kMostVote, kMostVote);
  return votes;
}

// The sequence of turns with the most votes, less what its changes cost.
std::vector<Turn> best_sequence(const std::vector<Votes>& votes) {
  Votes score{};
  std::vector<std::array<std::size_t, kTurns>> from(votes.size());
  for (std::size_t i = 0; i < votes.size(); ++i) {
    const auto best =
        static_cast<std::size_t>(std::max_element(score.begin(), score.end()) - score.begin());
    Votes next{};
    for (std::size_t t = 0; t < kTurns; ++t) {
      from[i][t] = score[best] - kChange > score[t] ? best : t;
      next[t] = std::max(score[t], score[best] - kChange) + votes[i][t];
    }
    score = next;
  }
  std::vector<Turn> out(votes.size());
  auto at = static_cast<std::size_t>(std::max_element(score.begin(), score.end()) - score.begin());
  for (std::size_t i = votes.size(); i-- > 0;) {
    out[i] = static_cast<Turn>(at);
    at = from[i][at];
  }
  return out;
}

// Tests from `begin` to `end` (not among them) that are turned the same way.
struct Run {
  std::size_t begin = 0;
  std::size_t end = 0;
  Turn turn = Turn::none;
};

std::vector<Run> runs_of(const std::vector<Turn>& turns) {
  std::vector<Run> runs;
  for (std::size_t i = 0; i < turns.size(); ++i) {
    if (runs.empty() || runs.back().turn != turns[i]) runs.push_back({i, i, turns[i]});
    runs.back().end = i + 1;
  }
  return runs;
}

// Mean votes for `turn` against `other` from `begin` to `end`.
double mean_votes(const std::vector<Votes>& votes, std::size_t begin, std::size_t end, Turn turn,
                  Turn other) {
  double sum = 0;
  for (std::size_t i = begin; i < end; ++i)
    sum += votes[i][static_cast<std::size_t>(turn)] - votes[i][static_cast<std::size_t>(other)];
  return sum / static_cast<double>(end - begin);
}

bool is_sudden(const std::vector<Votes>& votes, const Run& before, const Run& after) {
  const std::size_t from = std::max(before.begin, after.begin - std::min(kBeside, after.begin));
  const std::size_t to = std::min(after.end, after.begin + kBeside);
  return mean_votes(votes, from, before.end, before.turn, after.turn) >= kLeastVote &&
         mean_votes(votes, after.begin, to, after.turn, before.turn) >= kLeastVote;
}

// What changes slowly, for example by field rotation, is no turn.
std::vector<Run> sudden_runs(const std::vector<Votes>& votes) {
  std::vector<Run> out;
  for (const Run& run : runs_of(best_sequence(votes))) {
    if (!out.empty() && (run.turn == out.back().turn || !is_sudden(votes, out.back(), run))) {
      out.back().end = run.end;
    } else {
      out.push_back(run);
    }
  }
  return out;
}

}  // namespace

Turn best_turn(const std::array<double, kTurns>& peaks) {
  return static_cast<Turn>(std::max_element(peaks.begin(), peaks.end()) - peaks.begin());
}

std::string text_of(const Orientation& orientation) {
  std::vector<std::string> parts;
  for (const calibrate::TurnedFrames& part : orientation.turned) {
    parts.push_back(fmt::format("frames {} are {}", calibrate::ranges_text({part.frames}),
                                turn_text(part.turn)));
  }
  if (parts.empty()) return {};
  return fmt::format("{} relative to the first frames", fmt::join(parts, ", "));
}

Orientation orientation_of(const std::vector<TurnTest>& tests, FrameIndex last) {
  std::vector<Votes> votes;
  votes.reserve(tests.size());
  std::transform(tests.begin(), tests.end(), std::back_inserter(votes), votes_of);
  const std::vector<Run> runs = sudden_runs(votes);
  Orientation out;
  for (std::size_t i = 1; i < runs.size(); ++i) {
    const Run& run = runs[i];
    const FrameIndex after = tests[run.begin - 1].index + 1;
    const FrameIndex first = tests[run.begin].index;
    if (after < first) out.doubtful.push_back({after, first - 1});
    const Turn turn = run.turn * runs.front().turn;
    const bool to_the_end = run.end == tests.size();
    if (turn != Turn::none)
      out.turned.push_back({{first, to_the_end ? last : tests[run.end - 1].index}, turn});
  }
  return out;
}

}  // namespace lull::survey
