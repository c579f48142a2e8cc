#include "tests/server/failing_disk.hpp"

#include <algorithm>
#include <cstring>
#include <fstream>
#include <iterator>
#include <map>
#include <mutex>
#include <new>
#include <vector>

#include <sqlite3.h>

namespace stonecall::server::tests {
namespace {

using Failure = FailingDisk::Failure;

struct Write {
  sqlite3_int64 offset = 0;
  std::string bytes;
  bool cut = false;  ///< the file was cut to `offset` instead
};

struct Contents {
  std::string synced;
  std::vector<Write> since;
};

void write_into(std::string& contents, const Write& write) {
  const auto offset = static_cast<std::size_t>(write.offset);
  if (write.cut) {
    contents.resize(std::min(contents.size(), offset));
    return;
  }
  if (contents.size() < offset + write.bytes.size()) contents.resize(offset + write.bytes.size());
  contents.replace(offset, write.bytes.size(), write.bytes);
}

}  // namespace

struct FailingDisk::Disk {
  sqlite3_vfs vfs{};
  sqlite3_vfs* real = nullptr;
  Failure failure = Failure::power_cut;
  std::uint64_t at_call = 0;
  std::mt19937 random;

  std::mutex mutex;
  std::uint64_t calls = 0;
  bool failed = false;
  std::map<std::string, Contents> files;

  bool dead() const { return failed && failure == Failure::power_cut; }

  enum class Call { read, write, sync };

  bool concerns(Call call) const {
    switch (failure) {
      case Failure::power_cut:
        return call != Call::read;
      case Failure::read_error:
        return call == Call::read;
      case Failure::sync_error:
        return call == Call::sync;
      case Failure::disk_full:
      case Failure::write_error:
        return call == Call::write;
    }
    return false;
  }

  /// Counts a call; what it is to answer, or SQLITE_OK to go on.
  int next_call(Call call) {
    if (dead()) return SQLITE_IOERR;
    if (!concerns(call) || ++calls != at_call) return SQLITE_OK;
    failed = true;
    switch (failure) {
      case Failure::disk_full:
        return SQLITE_FULL;
      case Failure::sync_error:
        return SQLITE_IOERR_FSYNC;
      case Failure::read_error:
        return SQLITE_IOERR_READ;
      case Failure::write_error:
        return SQLITE_IOERR_WRITE;
      case Failure::power_cut:
        return SQLITE_IOERR;
    }
    return SQLITE_IOERR;
  }
};

namespace {

using Disk = FailingDisk::Disk;
using Call = Disk::Call;

struct File {
  sqlite3_file base;
  Disk* disk;
  const char* name;  ///< null: a temporary file
  sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

File& of(sqlite3_file* file) {
  return *reinterpret_cast<File*>(file);
}

template <auto Method, class... Arguments>
int pass(sqlite3_file* file, Arguments... arguments) {
  sqlite3_file* real = of(file).real();
  return (real->pMethods->*Method)(real, arguments...);
}

int close(sqlite3_file* file) {
  return pass<&sqlite3_io_methods::xClose>(file);
}

int read(sqlite3_file* file, void* to, int bytes, sqlite3_int64 offset) {
  {
    Disk& disk = *of(file).disk;
    const std::lock_guard lock(disk.mutex);
    if (const int failed = disk.next_call(Call::read)) return failed;
  }
  return pass<&sqlite3_io_methods::xRead>(file, to, bytes, offset);
}

int write(sqlite3_file* file, const void* from, int bytes, sqlite3_int64 offset) {
  File& self = of(file);
  const std::lock_guard lock(self.disk->mutex);
  if (const int failed = self.disk->next_call(Call::write)) return failed;
  if (self.name) {
    self.disk->files[self.name].since.push_back(
        {offset, std::string(static_cast<const char*>(from), static_cast<std::size_t>(bytes))});
  }
  return pass<&sqlite3_io_methods::xWrite>(file, from, bytes, offset);
}

int truncate(sqlite3_file* file, sqlite3_int64 size) {
  File& self = of(file);
  const std::lock_guard lock(self.disk->mutex);
  if (self.disk->dead()) return SQLITE_IOERR;
  if (self.name) self.disk->files[self.name].since.push_back({size, {}, true});
  return pass<&sqlite3_io_methods::xTruncate>(file, size);
}

int sync(sqlite3_file* file, int) {
  File& self = of(file);
  const std::lock_guard lock(self.disk->mutex);
  if (const int failed = self.disk->next_call(Call::sync)) return failed;
  if (self.name) {
    Contents& contents = self.disk->files[self.name];
    for (const Write& write : contents.since) write_into(contents.synced, write);
    contents.since.clear();
  }
  return SQLITE_OK;  // the real disk is not asked: this one is the disk
}

int file_control(sqlite3_file* file, int operation, void* argument) {
  return pass<&sqlite3_io_methods::xFileControl>(file, operation, argument);
}

int shm_map(sqlite3_file* file, int page, int size, int extend, void volatile** to) {
  return pass<&sqlite3_io_methods::xShmMap>(file, page, size, extend, to);
}

int shm_lock(sqlite3_file* file, int offset, int count, int flags) {
  return pass<&sqlite3_io_methods::xShmLock>(file, offset, count, flags);
}

void shm_barrier(sqlite3_file* file) {
  sqlite3_file* real = of(file).real();
  real->pMethods->xShmBarrier(real);
}

const sqlite3_io_methods methods = {
    2,  // no memory mapping of the file itself: every byte goes through here
    close,
    read,
    write,
    truncate,
    sync,
    [](sqlite3_file* file, sqlite3_int64* size) {
      return pass<&sqlite3_io_methods::xFileSize>(file, size);
    },
    [](sqlite3_file* file, int level) { return pass<&sqlite3_io_methods::xLock>(file, level); },
    [](sqlite3_file* file, int level) { return pass<&sqlite3_io_methods::xUnlock>(file, level); },
    [](sqlite3_file* file, int* held) {
      return pass<&sqlite3_io_methods::xCheckReservedLock>(file, held);
    },
    file_control,
    [](sqlite3_file* file) { return pass<&sqlite3_io_methods::xSectorSize>(file); },
    // Nothing is promised about order or whole sectors.
    [](sqlite3_file*) { return 0; },
    shm_map,
    shm_lock,
    shm_barrier,
    [](sqlite3_file* file, int remove) {
      return pass<&sqlite3_io_methods::xShmUnmap>(file, remove);
    },
    nullptr,
    nullptr,
};

int open(sqlite3_vfs* vfs, const char* name, sqlite3_file* file, int flags, int* out) {
  Disk& disk = *static_cast<Disk*>(vfs->pAppData);
  File& self = *new (file) File{{nullptr}, &disk, name};
  const int code = disk.real->xOpen(disk.real, name, self.real(), flags, out);
  if (code != SQLITE_OK) return code;
  self.base.pMethods = &methods;
  if (name) {
    const std::lock_guard lock(disk.mutex);
    if (!disk.files.contains(name)) {
      std::ifstream in(name, std::ios::binary);
      disk.files[name].synced.assign(std::istreambuf_iterator<char>(in), {});
    }
  }
  return SQLITE_OK;
}

int remove(sqlite3_vfs* vfs, const char* name, int sync_folder) {
  Disk& disk = *static_cast<Disk*>(vfs->pAppData);
  const std::lock_guard lock(disk.mutex);
  if (disk.dead()) return SQLITE_IOERR_DELETE;
  disk.files.erase(name);
  return disk.real->xDelete(disk.real, name, sync_folder);
}

constexpr const char* vfs_name = "stonecall-failing-disk";

}  // namespace

FailingDisk::FailingDisk(Failure failure, std::uint64_t at_call, std::uint32_t seed)
    : disk_(std::make_unique<Disk>()) {
  disk_->real = sqlite3_vfs_find(nullptr);
  disk_->failure = failure;
  disk_->at_call = at_call;
  disk_->random.seed(seed);
  disk_->vfs = *disk_->real;
  disk_->vfs.szOsFile = static_cast<int>(sizeof(File)) + disk_->real->szOsFile;
  disk_->vfs.zName = vfs_name;
  disk_->vfs.pAppData = disk_.get();
  disk_->vfs.xOpen = open;
  disk_->vfs.xDelete = remove;
  sqlite3_vfs_register(&disk_->vfs, 0);
}

FailingDisk::~FailingDisk() {
  sqlite3_vfs_unregister(&disk_->vfs);
}

std::string FailingDisk::name() const {
  return vfs_name;
}

bool FailingDisk::failed() const {
  const std::lock_guard lock(disk_->mutex);
  return disk_->failed;
}

void FailingDisk::fail_again(std::uint64_t at_call) {
  const std::lock_guard lock(disk_->mutex);
  disk_->failed = false;
  disk_->calls = 0;
  disk_->at_call = at_call;
}

void FailingDisk::mend() {
  const std::lock_guard lock(disk_->mutex);
  disk_->at_call = 0;
}

namespace {

/// `keep` is asked for each write that was not synced, and may change it.
template <class Keep>
void write_back(Disk& disk, Keep&& keep) {
  for (auto& [name, contents] : disk.files) {
    for (std::size_t i = 0; i < contents.since.size(); ++i) {
      Write write = contents.since[i];
      if (keep(write, i)) write_into(contents.synced, write);
    }
    std::ofstream(name, std::ios::binary | std::ios::trunc) << contents.synced;
    // The index of the write-ahead log is memory, and memory is gone.
    std::error_code ignored;
    std::filesystem::remove(name.substr(0, name.rfind("-wal")) + "-shm", ignored);
  }
}

}  // namespace

void FailingDisk::restore() {
  write_back(*disk_, [&random = disk_->random](Write& write, std::size_t) {
    switch (std::uniform_int_distribution(0, 3)(random)) {
      case 0:
        return false;
      case 1:
        break;
      case 2:
        write.bytes.resize(write.bytes.size() / 2);
        break;
      case 3:
        for (char& byte : write.bytes) byte = static_cast<char>(random());
        break;
    }
    return true;
  });
}

void FailingDisk::restore_without(std::size_t oldest) {
  write_back(*disk_, [oldest](const Write&, std::size_t i) { return i >= oldest; });
}

}  // namespace stonecall::server::tests
