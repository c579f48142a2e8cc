#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/client.hpp"
#include "protocol/event.hpp"
#include "protocol/plan.hpp"

namespace stonecall::desk {

/// Which exercise posts are meant for, as far as the desk that took them knew.
struct MeantFor {
  std::string server;    ///< "127.0.0.1:7700"; empty: not known
  std::string exercise;  ///< its plan's name and start; empty: no plan was known yet
  bool operator==(const MeantFor&) const = default;
};

/// "127.0.0.1:7700", "[::1]:7700": one server is named in one way, whatever was typed.
std::string name_of_server(const protocol::ServerAddress& server);
/// "Varrow Rim, 2027-05-18T08:30:00+02:00".
std::string name_of_exercise(const protocol::Plan& plan);

/// Posts that no server has acknowledged yet, on the disk, so that they outlive a desk that is
/// killed: JSON Lines, and before the first of them, and wherever it changes, a line that says what
/// they are meant for. A file belongs to one desk at a time; a second desk takes FILE.2, and so on.
/// What cannot be written is not kept, and nobody is held up for it: `fault` says so. Any thread,
/// one at a time.
class KeptPosts {
 public:
  struct Left {
    protocol::EventPtr event;
    std::string exercise;  ///< empty: not known
  };

  /// With an empty path nothing is kept. `before`: a file of the same sort from before each server
  /// had its own; what it holds is taken up.
  explicit KeptPosts(const std::filesystem::path& file, std::string server = {},
                     const std::filesystem::path& before = {});
  ~KeptPosts();  ///< takes an empty file away
  KeptPosts(const KeptPosts&) = delete;
  KeptPosts& operator=(const KeptPosts&) = delete;

  /// What desks that are gone had left, in their order; it is kept on.
  const std::vector<Left>& left() const { return left_; }

  /// Why what waits is not on the disk, or not all of it; empty: it is.
  const std::string& fault() const { return fault_; }

  void add(const protocol::Event& event, const std::string& exercise = {});
  /// Puts these where the next desk at this server finds them, however often this one clears.
  /// False: it could not be done, and they are only kept as long as nothing is cleared.
  bool set_aside(const std::vector<Left>& posts);
  /// They are ours after all, and kept as such by add(): not found there a second time.
  void take_from_aside(const std::vector<Left>& posts);
  void sync();   ///< what was added reaches the disk; may take its time
  void clear();  ///< all is acknowledged that was not set aside

 private:
  void adopt(const std::filesystem::path& file);
  void write(std::string_view bytes);
  std::string lines_of(const std::vector<Left>& posts) const;

  std::filesystem::path file_;   ///< ours
  std::filesystem::path aside_;  ///< of what is set aside
  std::string server_;
  std::string exercise_;  ///< what the last line written is meant for
  bool said_ = false;     ///< the file says what its lines are meant for
  int descriptor_ = -1;
  bool unsynced_ = false;
  bool empty_ = true;
  bool torn_ = false;  ///< the last line written is half a line
  std::string fault_;
  std::vector<Left> left_;
};

/// FOLDER/unsent/127.0.0.1_7700.jsonl; empty for an empty folder.
std::filesystem::path kept_file(const std::filesystem::path& folder,
                                const protocol::ServerAddress& server);

/// What was set aside of a file.
std::filesystem::path kept_aside(const std::filesystem::path& file);

/// Posts that wait for a desk at another server, or for another exercise at this one.
struct KeptElsewhere {
  MeantFor meant_for;
  std::size_t posts = 0;
  std::filesystem::path file;
  bool operator==(const KeptElsewhere&) const = default;
};

/// What waits in the folder of `ours` for other servers; files that a desk has now are left out, it
/// sends them itself.
std::vector<KeptElsewhere> kept_elsewhere(const std::filesystem::path& ours);

}  // namespace stonecall::desk
