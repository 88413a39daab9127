// Hidden faults drawn from the knowledge, played to the end: how many are cured in how many minutes, beside plainer
// ways of working.
#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <boost/program_options.hpp>
#include <cmath>
#include <fstream>
#include <iostream>
#include <mutex>
#include <random>
#include <thread>

#include "knowledge/shipped.hpp"
#include "tests/exam/rivals.hpp"

using namespace wheeltapper;
using exam::Record;

namespace {

struct Task {
  const exam::Policy* policy;
  std::uint64_t seed;
  std::vector<std::size_t> causes;
};

struct Settings {
  std::string family = "ac-series";
  std::size_t jobs = 500;
  bool each_cause = false;
  bool trace = false;
  std::uint64_t seed = 1;
  std::vector<std::string> policies;
  std::string csv;
  std::size_t threads = 2;
  double least_cured = 0;  // percent
};

std::vector<Record> play_all(const std::vector<Task>& tasks, const std::shared_ptr<const belief::Network>& network,
                             std::size_t threads, bool trace) {
  std::vector<Record> records(tasks.size());
  std::atomic<std::size_t> next = 0;
  std::mutex mutex;
  const auto work = [&] {
    for (std::size_t at = next++; at < tasks.size(); at = next++) {
      const Task& task = tasks[at];
      try {
        records[at] = exam::play(exam::World(network, task.causes, task.seed), *task.policy, task.seed, trace);
      } catch (const std::exception& wrong) {
        const std::lock_guard lock(mutex);
        fmt::print(stderr, "\njob {} of {} stopped: {}\n", task.seed, task.policy->name, wrong.what());
        records[at].policy = "stopped";
      }
      if ((at + 1) % 20 == 0) {
        const std::lock_guard lock(mutex);
        fmt::print(stderr, "\r{} of {} jobs", at + 1, tasks.size());
      }
    }
  };
  std::vector<std::thread> all;
  for (std::size_t t = 0; t < threads; ++t) all.emplace_back(work);
  for (auto& each : all) each.join();
  fmt::print(stderr, "\n");
  return records;
}

double capped(const Record& record) { return record.cured ? std::min(record.minutes, exam::kLongest) : exam::kLongest; }

double mean(const std::vector<double>& values) {
  double sum = 0;
  for (const double each : values) sum += each;
  return values.empty() ? 0 : sum / static_cast<double>(values.size());
}

double correlation(const std::vector<double>& a, const std::vector<double>& b) {
  const double ma = mean(a);
  const double mb = mean(b);
  double ab = 0;
  double aa = 0;
  double bb = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    ab += (a[i] - ma) * (b[i] - mb);
    aa += (a[i] - ma) * (a[i] - ma);
    bb += (b[i] - mb) * (b[i] - mb);
  }
  return aa > 0 && bb > 0 ? ab / std::sqrt(aa * bb) : 0;
}

void print_summary(const std::string& name, std::vector<Record> all) {
  const auto referred = std::erase_if(all, [](const Record& each) { return each.referred; });
  const auto n = static_cast<double>(all.size());
  std::size_t steps = 0;
  std::size_t several = 0;
  std::size_t several_cured = 0;
  Record sum;
  std::vector<double> forecast;
  std::vector<double> followed;
  std::vector<double> minutes;
  std::size_t cured = 0;
  std::size_t empty = 0;
  std::size_t handed_on = 0;
  for (const Record& each : all) {
    minutes.push_back(capped(each));
    steps += each.checks + each.repairs;
    cured += each.cured ? 1 : 0;
    empty += each.empty ? 1 : 0;
    handed_on += each.handed_on ? 1 : 0;
    sum.questions += each.questions;
    sum.checks += each.checks;
    sum.repairs += each.repairs;
    sum.again += each.again;
    sum.repeated += each.repeated;
    sum.vain_repairs += each.vain_repairs;
    sum.vain_minutes += each.vain_minutes;
    sum.vain_powered += each.vain_powered;
    if (each.causes.find('+') != std::string::npos) {
      ++several;
      several_cured += each.cured ? 1 : 0;
    }
    if (each.forecast > 0) {
      forecast.push_back(each.forecast);
      followed.push_back(each.cured ? std::min(each.followed, exam::kLongest) : exam::kLongest);
    }
  }
  fmt::print("{:<10} {:4} jobs, cured {:.1f} %; within", name, all.size(), 100.0 * static_cast<double>(cured) / n);
  for (const double limit : {60.0, 120.0, 180.0, 300.0, 600.0}) {
    const auto in_time = std::ranges::count_if(all, [&](const Record& r) { return r.cured && r.minutes <= limit; });
    fmt::print(" {:.0f} min {:.1f} %,", limit, 100.0 * static_cast<double>(in_time) / n);
  }
  fmt::print(" capped mean {:.1f} min; {} more referred for a hazard\n", mean(minutes), referred);
  if (several > 0)
    fmt::print("           of several causes {:.1f} % cured ({} jobs)\n",
               100.0 * static_cast<double>(several_cured) / static_cast<double>(several), several);
  fmt::print(
      "           a job: {:.1f} questions, {:.1f} checks, {:.2f} repairs, {:.2f} of them in vain ({:.0f} min), powered "
      "in vain "
      "{:.2f}\n",
      static_cast<double>(sum.questions) / n, static_cast<double>(sum.checks) / n, static_cast<double>(sum.repairs) / n,
      static_cast<double>(sum.vain_repairs) / n, sum.vain_minutes / n, static_cast<double>(sum.vain_powered) / n);
  fmt::print(
      "           steps done before {:.1f} %, with nothing new {:.1f} %; empty advice {}, given up or handed on {}\n",
      100.0 * static_cast<double>(sum.again) / std::max(1.0, static_cast<double>(steps)),
      100.0 * static_cast<double>(sum.repeated) / std::max(1.0, static_cast<double>(steps)), empty, handed_on);
  if (forecast.size() > 1)
    fmt::print("           forecast against what followed: means {:.0f} and {:.0f} min, correlation {:.2f}\n",
               mean(forecast), mean(followed), correlation(forecast, followed));
}

/// The mean difference of capped minutes over jobs that both played, with a paired bootstrap interval of 95 %.
void print_against(const std::vector<Record>& program, const std::vector<Record>& rival, std::uint64_t seed) {
  std::map<std::pair<std::uint64_t, std::string>, double> of_rival;
  for (const Record& each : rival)
    if (!each.referred) of_rival[{each.seed, each.causes}] = capped(each);
  std::vector<double> difference;
  std::vector<double> base;
  for (const Record& each : program)
    if (const auto found = of_rival.find({each.seed, each.causes}); found != of_rival.end() && !each.referred) {
      difference.push_back(capped(each) - found->second);
      base.push_back(found->second);
    }
  if (difference.empty()) return;
  constexpr std::size_t kResamples = 2000;
  std::mt19937_64 random(seed);
  std::vector<double> means;
  for (std::size_t b = 0; b < kResamples; ++b) {
    double sum = 0;
    for (std::size_t i = 0; i < difference.size(); ++i) sum += difference[random() % difference.size()];
    means.push_back(sum / static_cast<double>(difference.size()));
  }
  std::ranges::sort(means);
  fmt::print("program against {}: {:+.1f} min ({:+.0f} %), 95 % from {:+.1f} to {:+.1f}, {} jobs\n",
             rival.front().policy, mean(difference), 100 * mean(difference) / mean(base), means[kResamples / 40],
             means[kResamples - kResamples / 40], difference.size());
}

void write_csv(const std::string& name, const std::vector<Record>& records) {
  std::ofstream out(name);
  out << "policy,seed,causes,cured,handed_on,empty,minutes,forecast,followed,questions,checks,repairs,again,repeated,"
         "vain_repairs,vain_minutes,vain_powered\n";
  for (const Record& r : records)
    out << fmt::format("{},{},{},{},{},{},{:.1f},{:.1f},{:.1f},{},{},{},{},{},{},{:.1f},{}\n", r.policy, r.seed,
                       r.causes, r.cured, r.handed_on, r.empty, r.minutes, r.forecast, r.followed, r.questions,
                       r.checks, r.repairs, r.again, r.repeated, r.vain_repairs, r.vain_minutes, r.vain_powered);
}

std::vector<Task> tasks_of(const Settings& settings, const std::vector<exam::Policy>& policies,
                           const belief::Network& network) {
  std::vector<Task> tasks;
  for (const exam::Policy& policy : policies) {
    if (std::ranges::find(settings.policies, policy.name) == settings.policies.end()) continue;
    for (std::size_t j = 0; j < settings.jobs; ++j) {
      const std::uint64_t seed = settings.seed + j;
      tasks.push_back({&policy, seed, exam::draw_causes(network, seed)});
    }
    for (std::size_t cause = 0; settings.each_cause && cause < network.causes().size(); ++cause)
      tasks.push_back({&policy, settings.seed + 1'000'000 + cause, {cause}});
  }
  return tasks;
}

}  // namespace

int main(int argc, char** argv) {
  namespace po = boost::program_options;
  Settings settings;
  po::options_description options("Plays hidden faults through the program. Options");
  options.add_options()("help", "this text")("jobs", po::value(&settings.jobs), "faults drawn from the rates (500)")(
      "each-cause", po::bool_switch(&settings.each_cause), "and each cause once, alone")(
      "policies", po::value(&settings.policies)->multitoken(), "program, plain, per-cost, likeliest, fixed, random")(
      "family", po::value(&settings.family), "ac-series")("seed", po::value(&settings.seed), "of the first job (1)")(
      "trace", po::bool_switch(&settings.trace), "print each step")("threads", po::value(&settings.threads), "2")(
      "csv", po::value(&settings.csv), "a file for one line a job")("least-cured", po::value(&settings.least_cured),
                                                                    "percent of the program's jobs; fewer end with 1");
  po::variables_map given;
  try {
    po::store(po::parse_command_line(argc, argv, options), given);
    po::notify(given);
  } catch (const po::error& wrong) {
    fmt::print(stderr, "{}\n", wrong.what());
    return 2;
  }
  if (given.contains("help")) {
    std::cout << options;
    return 0;
  }
  if (settings.policies.empty()) settings.policies = {"program", "plain"};
  const auto network = std::make_shared<const belief::Network>(knowledge::shipped(), settings.family);
  const auto policies = exam::policies();
  const auto records =
      play_all(tasks_of(settings, policies, *network), network, settings.trace ? 1 : settings.threads, settings.trace);
  std::map<std::string, std::vector<Record>> by_policy;
  for (const Record& each : records) by_policy[each.policy].push_back(each);
  for (const auto& [name, all] : by_policy) print_summary(name, all);
  for (const auto& [name, all] : by_policy)
    if (name != "program" && by_policy.contains("program")) print_against(by_policy["program"], all, settings.seed);
  if (!settings.csv.empty()) write_csv(settings.csv, records);
  const auto& own = by_policy["program"];
  const auto cured = static_cast<double>(std::ranges::count_if(own, &Record::cured));
  const bool enough = 100 * cured >= settings.least_cured * static_cast<double>(own.size());
  if (!enough) fmt::print("fewer than {:.0f} % cured\n", settings.least_cured);
  return by_policy.contains("stopped") || !enough ? 1 : 0;
}
