#pragma once

#include "desk/parts.h"
#include "desk/router.h"

/// What each address of the interface does: src/docs/desk-api.md. The parts outlive the router.
namespace lull::desk {

/// The pages, /api/desk, /api/profiles and /api/events.
void add_desk_routes(Router& router, Parts& parts);

/// /api/captures and those below it, but for the frames and the survey.
void add_capture_routes(Router& router, Parts& parts);

/// /api/captures/{id}/thumbnail and /frames.
void add_frame_routes(Router& router, Parts& parts);

/// /api/captures/{id}/survey
void add_survey_routes(Router& router, Parts& parts);

/// /api/jobs
void add_job_routes(Router& router, Parts& parts);

/// /api/results, and /api/options.
void add_result_routes(Router& router, Parts& parts);

/// /api/nights
void add_night_routes(Router& router, Parts& parts);

/// /api/results/{id}/preview, /export and /frc.
void add_tune_routes(Router& router, Parts& parts);

/// /api/results/{id}/view and /tiles
void add_view_routes(Router& router, Parts& parts);

/// A job that finishes a result anew, as POST /api/results/{id}/export asks for it.
/// @throws Problem, UsageError: nothing was created.
Job create_export_job(Parts& parts, const std::string& id, const nlohmann::json& body);

/// A job as the interface shows it.
[[nodiscard]] nlohmann::json job_json(const Parts& parts, const Job& job);

/// Tells the pages, and keeps the record of jobs.
void job_changed(Parts& parts, const Job& job);

}  // namespace lull::desk
