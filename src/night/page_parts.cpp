#include "night/page_parts.h"

#include <fmt/format.h>

#include "draw/xml_text.h"
#include "files/name_text.h"

namespace lull::night {

std::string name_html(const std::string& name) {
  return "<bdi>" + draw::xml_text(files::name_text(name)) + "</bdi>";
}

std::optional<double> figure(const Record& record, const char* name) {
  const auto found = record.figures.find(name);
  if (found == record.figures.end() || !found->is_number()) return std::nullopt;
  return found->get<double>();
}

std::string link_id(const Summary& summary, const Record& record) {
  return fmt::format("p{}", &record - summary.records.data());
}

}  // namespace lull::night
