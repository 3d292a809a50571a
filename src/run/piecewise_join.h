#pragma once

#include <vector>

#include "globe/derotate.h"
#include "stack/stacker.h"

namespace lull::run {

/// Joins stacks of pieces of a capture, turned to one moment, into one stack.
class PiecewiseJoin {
 public:
  explicit PiecewiseJoin(globe::Derotation derotation) : derotation_(std::move(derotation)) {}

  /// The result looks like the first one.
  /// @param picture  where its globe lies, and its weight; without planes.
  void add(stack::StackResult&& result, globe::GlobePicture picture);

  /// Of at least one stack; the frames kept are those of all, piece by piece.
  [[nodiscard]] stack::StackResult finish() &&;

 private:
  void add_figures(const stack::StackResult& other, const globe::GlobePlace& place);

  globe::Derotation derotation_;
  stack::StackResult whole_;  ///< what is not turned, summed
  globe::GlobePlace place_;   ///< in the first one
  double weight_ = 0;
};

}  // namespace lull::run
