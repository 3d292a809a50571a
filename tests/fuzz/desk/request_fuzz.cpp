#include <cstdint>
#include <nlohmann/json.hpp>
#include <string>

#include "capture/sequence_names.h"
#include "core/error.h"
#include "desk/access.h"
#include "desk/http.h"
#include "desk/job_record.h"
#include "desk/option_values.h"
#include "desk/parameters.h"
#include "desk/problem.h"
#include "desk/result_index.h"
#include "desk/result_names.h"
#include "desk/router.h"
#include "run/stack_request.h"

// What the desk itself reads of a request: a Problem or a RunError, and nothing without the key.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto tried = [](const auto& read) {
    try {
      read();
    } catch (const desk::Problem&) {
    } catch (const RunError&) {
    }
  };
  static desk::Access access("observatory", 4700);
  desk::Request request;
  request.host = text;
  request.cookie = text;
  request.authorization = text;
  request.path = "/" + text;
  request.body = text;
  if (!access.check(request)) __builtin_trap();
  request.host = "localhost";
  if (!access.check(request)) __builtin_trap();
  static_cast<void>(desk::parts_of_path(text));
  static_cast<void>(desk::cookie_value(text, "lull_desk_4700"));
  static_cast<void>(capture::NumberedName::parse(text));
  static_cast<void>(desk::result_stem(text));
  static_cast<void>(desk::jobs_in_record(text));
  const desk::Parameters parameters = {{"a", text}};
  tried([&] { static_cast<void>(desk::whole_number(parameters, "a", 0, 1000)); });
  tried([&] { static_cast<void>(desk::number(parameters, "a")); });
  tried([&] {
    const auto box = desk::area(parameters, "a", {640, 480});
    if (!box || box->empty() || box->x0 < 0 || box->x1 > 640 || box->y1 > 480) __builtin_trap();
  });
  tried([&] {
    desk::check_result_name(text);
    if (text.find('/') != std::string::npos || text.front() == '.') __builtin_trap();
  });
  tried([&] {
    run::StackRequest stack;
    desk::apply_options(run::stack_options(), desk::json_body(request), {"capture", "--output"},
                        stack);
    if (!stack.output.empty() || !stack.input.captures.empty()) __builtin_trap();
  });
  return 0;
}
