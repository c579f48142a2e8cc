#pragma once

#include <filesystem>
#include <string_view>
#include <vector>

#include "protocol/event.hpp"

namespace stonecall::desk {

/// Posts that no server has acknowledged yet, on the disk, so that they outlive a desk that is
/// killed: JSON Lines. A file belongs to one desk at a time; a second desk takes FILE.2, and so on.
/// What cannot be written is not kept, and nobody is held up for it. Any thread, one at a time.
class KeptPosts {
 public:
  /// With an empty path nothing is kept.
  explicit KeptPosts(const std::filesystem::path& file);
  ~KeptPosts();  ///< takes an empty file away
  KeptPosts(const KeptPosts&) = delete;
  KeptPosts& operator=(const KeptPosts&) = delete;

  /// What desks that are gone had left, in their order; it is kept on.
  const std::vector<protocol::EventPtr>& left() const { return left_; }

  void add(const protocol::Event& event);
  void sync();   ///< what was added reaches the disk; may take its time
  void clear();  ///< all is acknowledged

 private:
  void adopt(const std::filesystem::path& file);
  void write(std::string_view bytes);

  std::filesystem::path file_;  ///< ours
  int descriptor_ = -1;
  bool unsynced_ = false;
  bool empty_ = true;
  std::vector<protocol::EventPtr> left_;
};

}  // namespace stonecall::desk
