#pragma once

#include <vector>

#include "cli/verb.h"
#include "night/night_request.h"

namespace lull::cli {

/// `lull night`: all captures of a folder.
class NightVerb : public Verb {
 public:
  NightVerb();

  [[nodiscard]] std::vector<run::OptionFacts> options() const override;
  void execute(const CancelToken& cancel) override;

 private:
  run::OptionTable<run::Resources> resources_;
  run::OptionTable<Presentation> presentation_;
};

}  // namespace lull::cli
