#include "capture/ser_file.h"

namespace lull::capture {

double SerFile::frames_per_s() const {
  if (ticks.size() < 2 || ticks.back() == ticks.front()) return 0;
  return static_cast<double>(ticks.size() - 1) * static_cast<double>(kTicksPerSecond) /
         static_cast<double>(ticks.back() - ticks.front());
}

}  // namespace lull::capture
