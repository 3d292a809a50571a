#include <cmath>

#include "core/error.h"
#include "fuzz/temporary_file.h"
#include "quality/frame_table.h"

// Tables of true Strehl ratios and of scores: an InputError, or values in range where there are
// any.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  const fuzz::TemporaryFile file(data, size);
  try {
    const quality::FrameTable truth = quality::read_strehl_table(file.path());
    if (truth.columns.size() != 1) __builtin_trap();
    for (const double strehl : truth.columns[0].values) {
      if (strehl < 0 || strehl > 1) __builtin_trap();
    }
  } catch (const RunError&) {
  }
  try {
    const quality::FrameTable scores = quality::read_score_table(file.path());
    for (const auto& column : scores.columns) {
      if (column.values.size() != scores.frames()) __builtin_trap();
      for (const double score : column.values) {
        if (std::isinf(score)) __builtin_trap();
      }
    }
  } catch (const RunError&) {
  }
  return 0;
}
