#pragma once

#include <array>
#include <cstdint>
#include <initializer_list>
#include <optional>

namespace lull::lab {

/// Random numbers from a key, not from a position in a common sequence, so that they are the same
/// on any thread. Generator: xoshiro256++ (Blackman & Vigna 2021, ACM Transactions on Mathematical
/// Software 47, 36), seeded by splitmix64.
class Random {
 public:
  /// key: the seed of the run, then what the numbers are for, such as {seed, kNoise, frame, row}.
  explicit Random(std::initializer_list<std::uint64_t> key);

  [[nodiscard]] std::uint64_t bits();

  /// Evenly distributed in (0, 1).
  [[nodiscard]] double uniform();

  [[nodiscard]] double uniform(double low, double high) { return low + (high - low) * uniform(); }

  /// Standard normal: Box & Muller 1958, Annals of Mathematical Statistics 29, 610.
  [[nodiscard]] double normal();

  /// Poisson: transformed rejection, Hoermann 1993, Insurance: Mathematics and Economics 12, 39;
  /// below a mean of 10 by products of uniform numbers. Zero for a mean <= 0.
  [[nodiscard]] double poisson(double mean);

 private:
  std::array<std::uint64_t, 4> state_{};
  std::optional<double> spare_;
};

/// What random numbers are drawn for; no two uses share a key.
enum class Draw : std::uint64_t {
  screen,
  scene,
  air,
  mount,
  sensor,
  faults,
  noise,
  dark,
  flat,
  panels
};

[[nodiscard]] inline std::uint64_t key_of(Draw draw) { return static_cast<std::uint64_t>(draw); }

}  // namespace lull::lab
