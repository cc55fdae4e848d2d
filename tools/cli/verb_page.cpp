#include <filesystem>
#include <optional>
#include <string_view>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/own_files.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/text/build.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// Where the page may be: beside a program that was built, or where cmake --install puts it.
std::string built_page() {
  std::error_code trouble;
  const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", trouble);
  if (trouble) return {};
  const std::filesystem::path folder = program.parent_path();
  for (const std::filesystem::path& page :
       {folder / "page" / "page.html", folder.parent_path() / "share" / "plunge" / "page.html"}) {
    if (std::filesystem::is_regular_file(page, trouble)) return page.string();
  }
  return {};
}

// The commit that a page says its model is of: `<meta name="generator" content="plunge 0.1.0,
// commit 5f8081e, ...">`, near its begin; empty: it says none.
std::string_view commit_of(std::string_view page) {
  constexpr std::string_view kBefore = "name=\"generator\" content=\"plunge ";
  constexpr std::string_view kCommit = ", commit ";
  const std::size_t before = page.find(kBefore);
  const std::size_t from = before == page.npos ? page.npos : page.find(kCommit, before);
  if (from == page.npos) return {};
  const std::string_view rest = page.substr(from + kCommit.size());
  return rest.substr(0, rest.find_first_of(",\""));
}

}  // namespace

int page_verb(const PageOptions& options) {
  if (options.output.empty()) {
    throw InputError(Fault{"--output", "", "must be given, an .html file", {}});
  }
  if (std::filesystem::path(options.output).extension() != ".html") {
    throw InputError(Fault{"--output", options.output, "must end in .html", {}});
  }
  const std::string page = built_page();
  const std::optional<std::string> bytes = page.empty() ? std::nullopt : bytes_in_file(page);
  if (!bytes || bytes->empty()) {
    throw RunError(
        "this plunge was built without the learning page: tools/demo --page, in the repository, "
        "installs what the page needs and builds it");
  }
  if (const std::string_view commit = commit_of(*bytes); commit != build_commit()) {
    note(
        "note: the page holds the model of commit {}, this is {}: tools/demo --page builds it "
        "anew\n",
        shown(std::string(commit)), build_commit());
  }
  Outputs outputs;
  outputs.table = options.output;
  outputs.replace = options.replace;
  outputs.json = options.json;
  open_outputs(outputs, {page});
  const std::string marked = marked_picture(*bytes);
  write_file_atomically(options.output, marked);
  remember_written(options.output);
  if (options.json) {
    say("{}\n", page_json(options.output, marked.size()));
  } else {
    say("{}: open it in a browser; it works from the disk alone\n", shown(options.output));
  }
  return 0;
}

}  // namespace plunge
