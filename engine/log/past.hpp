#pragma once
#include <string>
#include <vector>

#include "engine/log/log.hpp"
#include "engine/statistics/cures.hpp"

namespace wheeltapper::log {

/// What the log holds for a cure table. \throws LogError  if its rows can't be read
statistics::PastJobs past_jobs(Log& log, const statistics::CuresOf& of);

/// The jobs of one locomotive, by its name. \throws LogError, input::BadInput  for a job that can't be read
std::vector<job::Job> jobs_of(Log& log, const std::string& locomotive);

/// The names of locomotives in the log.
std::vector<std::string> locomotives(Log& log);

}  // namespace wheeltapper::log
