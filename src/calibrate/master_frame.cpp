#include "calibrate/master_frame.h"

namespace lull::calibrate {

const char* kind_name(MasterKind kind) {
  switch (kind) {
    case MasterKind::dark:
      return "dark";
    case MasterKind::flat:
      return "flat";
    case MasterKind::flat_dark:
      return "flat dark";
  }
  return "master";
}

}  // namespace lull::calibrate
