#include "spectrum/patch_grid.h"

namespace lull::spectrum {

std::vector<int> patch_starts(int from, int to, int side) {
  const int room = to - from - side;
  const int steps = room <= 0 ? 0 : (2 * room + side - 1) / side;
  std::vector<int> out;
  for (int i = 0; i <= steps; ++i) out.push_back(from + (steps == 0 ? 0 : room * i / steps));
  return out;
}

}  // namespace lull::spectrum
