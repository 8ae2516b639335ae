DROP TABLE task, photo, job_summary, job;
