//! scratch scratch scratch
mod program; mod job_sample;
use program::library::*;
use whyrod::record::*; use whyrod::verify::verify;
#[test] fn t(){
 let mut jobs: Vec<(String,String)> = vec![];
 for e in std::fs::read_dir("examples").unwrap() { let p=e.unwrap().path(); if p.extension().is_some_and(|x|x=="toml") { jobs.push((p.display().to_string(), std::fs::read_to_string(&p).unwrap())); } }
 let n: u64 = std::env::var("N").ok().and_then(|n|n.parse().ok()).unwrap_or(20);
 for seed in 0..n { jobs.push((format!("seed {seed}"), job_sample::job(seed, rulebook(), job_sample::SMALL))); }
 let (mut td,mut tr,mut tw,mut tv)=(0.,0.,0.,0.); let mut bad=0;
 for (name,j) in &jobs {
  let t=std::time::Instant::now(); let d=decided(j); td+=t.elapsed().as_secs_f64();
  let t=std::time::Instant::now(); let r=record(&d).unwrap(); let s=r.text().unwrap(); tw+=t.elapsed().as_secs_f64();
  let t=std::time::Instant::now(); let r2=Record::read(&s).unwrap(); tr+=t.elapsed().as_secs_f64();
  assert!(r2==r);
  let t=std::time::Instant::now(); let c=verify(&r2, &rulebook().fingerprint); let e=t.elapsed().as_secs_f64(); tv+=e;
  if name.contains("examples") { println!("{name} {} verify {e} {:?}", s.len(), c.counts); }
  if !c.holds { bad+=1; if bad<8 { println!("{name}: {} problems", c.problems.len()); for p in c.problems.iter().take(6) { println!("  {p:?}"); } } }
 }
 println!("bad {bad} of {}; decide {td} write {tw} read {tr} verify {tv}", jobs.len());
}
