#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <optional>

namespace lull {

/// Normal equations of linear least squares with few unknowns: sum w r r^T x = sum w v r.
template <std::size_t unknowns>
class NormalEquations {
 public:
  using Row = std::array<double, unknowns>;

  /// One observation: value = row . x.
  void add(const Row& row, double value, double weight = 1) {
    for (std::size_t i = 0; i < unknowns; ++i) {
      for (std::size_t j = 0; j <= i; ++j) a_[i][j] += weight * row[i] * row[j];
      b_[i] += weight * row[i] * value;
    }
  }

  void add(const NormalEquations& other) {
    for (std::size_t i = 0; i < unknowns; ++i) {
      for (std::size_t j = 0; j <= i; ++j) a_[i][j] += other.a_[i][j];
      b_[i] += other.b_[i];
    }
  }

  /// Leaves an unknown at 0.
  void fix(std::size_t unknown) {
    for (std::size_t i = 0; i < unknowns; ++i)
      a_[std::max(i, unknown)][std::min(i, unknown)] = i == unknown ? 1 : 0;
    b_[unknown] = 0;
  }

  /// Shortens the step: the diagonal grows by this share (Marquardt 1963, J. Soc. Indust. Appl.
  /// Math. 11, 431).
  void damp(double share) {
    for (std::size_t i = 0; i < unknowns; ++i) a_[i][i] *= 1 + share;
  }

  /// By Cholesky's decomposition (Golub & Van Loan, Matrix Computations, section 4.2, from memory).
  /// @return none where the unknowns do not follow.
  [[nodiscard]] std::optional<Row> solution() const {
    std::array<Row, unknowns> a = a_;
    for (std::size_t i = 0; i < unknowns; ++i) {
      for (std::size_t j = 0; j <= i; ++j) {
        double sum = a[i][j];
        for (std::size_t k = 0; k < j; ++k) sum -= a[i][k] * a[j][k];
        if (i != j) {
          a[i][j] = sum / a[j][j];
        } else if (sum > kLeastPivot * a[i][i]) {
          a[i][i] = std::sqrt(sum);
        } else {
          return std::nullopt;
        }
      }
    }
    Row x{};
    for (std::size_t i = 0; i < unknowns; ++i) {
      x[i] = b_[i];
      for (std::size_t k = 0; k < i; ++k) x[i] -= a[i][k] * x[k];
      x[i] /= a[i][i];
    }
    for (std::size_t i = unknowns; i-- > 0;) {
      for (std::size_t k = i + 1; k < unknowns; ++k) x[i] -= a[k][i] * x[k];
      x[i] /= a[i][i];
    }
    return x;
  }

 private:
  static constexpr double kLeastPivot = 1e-10;  // of the diagonal

  std::array<Row, unknowns> a_{};  // below the diagonal
  Row b_{};
};

}  // namespace lull
