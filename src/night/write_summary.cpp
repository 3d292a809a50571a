#include "night/write_summary.h"

#include <nlohmann/json.hpp>

#include "files/atomic_file.h"
#include "files/name_text.h"
#include "files/results.h"
#include "night/night_page.h"

namespace lull::night {

void write_summary(const Summary& summary, const NightFolder& place) {
  NightFolder::make_folder_of(place.page());
  files::Results results;
  results.add(place.page(),
              [&](const auto& path) { files::write_file(path, night_page(summary, place)); });
  results.add(place.table(),
              [&](const auto& path) { files::write_file(path, night_csv(summary)); });
  results.add(place.figures(), [&](const auto& path) {
    files::write_file(path, files::json_text(night_json(summary), 1) + "\n");
  });
  results.commit();
}

}  // namespace lull::night
