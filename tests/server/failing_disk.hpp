#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <random>
#include <string>

/// A disk that fails, between SQLite and the real files (an SQLite VFS).
///
/// Killing a process does not show what a power cut does: the kernel still holds what was written
/// and writes it later. This layer remembers for each file what had been synced, and each write
/// since. At a power cut every write that was not synced is kept, dropped, torn (its first half is
/// kept) or garbled, by a seeded generator; from then on every call fails. restore() then makes the
/// files as such a disk would show them. It can also let single calls fail: disk full, or an I/O
/// error in reading, writing or syncing. What it does not do: lose the creation or deletion of a
/// file.
namespace stonecall::server::tests {

class FailingDisk {
 public:
  enum class Failure { power_cut, disk_full, read_error, write_error, sync_error };

  /// Only one at a time. Its name() goes into StoreOptions::vfs.
  FailingDisk(Failure failure, std::uint64_t at_call, std::uint32_t seed);
  ~FailingDisk();
  FailingDisk(const FailingDisk&) = delete;
  FailingDisk& operator=(const FailingDisk&) = delete;

  std::string name() const;
  bool failed() const;  ///< the call with that number came
  /// It will fail once more, at that call from now on.
  void fail_again(std::uint64_t at_call);
  void mend();  ///< no call fails any more

  /// After a power cut and with all connections closed: makes the files as they are found
  /// afterwards.
  void restore();
  /// The same for a disk that wrote the newest first: of each file the oldest so many writes that
  /// were not synced are dropped, and the others kept.
  void restore_without(std::size_t oldest);

  struct Disk;

 private:
  std::unique_ptr<Disk> disk_;
};

}  // namespace stonecall::server::tests
