#include "desk/problem.h"

#include <new>
#include <nlohmann/json.hpp>
#include <system_error>

#include "core/error.h"
#include "files/name_text.h"

namespace lull::desk {

namespace {

int status_of(ExitStatus status) {
  switch (status) {
    case ExitStatus::wrong_usage:
      return 400;
    case ExitStatus::unreadable_input:
    case ExitStatus::nothing_usable:
      return 422;
    case ExitStatus::unwritable_output:
      return 507;
    case ExitStatus::interrupted:
      return 503;
    case ExitStatus::done:
    case ExitStatus::internal_error:
      break;
  }
  return 500;
}

Problem of_message(int status, const std::string& message) {
  const std::size_t end = message.find("; ");
  if (end == std::string::npos) return {status, message};
  return {status, message.substr(0, end), message.substr(end + 2)};
}

}  // namespace

Problem problem_of(const std::exception_ptr& error) {
  try {
    std::rethrow_exception(error);
  } catch (const Problem& problem) {
    return problem;
  } catch (const RunError& run) {
    return of_message(status_of(run.status()), run.what());
  } catch (const std::bad_alloc&) {
    return {507, "the system refuses more memory", "close other programs, or use a smaller area"};
  } catch (const std::system_error& system) {
    if (system.code() == std::errc::resource_unavailable_try_again)
      return {503, "the system refuses more threads", "close other programs, or give --threads 1"};
    return {500, std::string("internal error: ") + system.what()};
  } catch (const std::exception& other) {
    return {500, std::string("internal error: ") + other.what()};
  }
}

nlohmann::json to_json(const Problem& problem) {
  return {{"what", files::utf8_text(problem.what())}, {"do", files::utf8_text(problem.remedy())}};
}

}  // namespace lull::desk
